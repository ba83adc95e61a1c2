package pages

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/words"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

// paper is what of the list of a case stands on the sheet.
type paper struct {
	*jobSheet
	steps   []work.Step   // up to where the trouble is nearly found, without those back to service
	left    []work.Step   // the looks and openings behind them
	repairs []repair      // of what is likely
	opened  []evidence.At // by the case, the steps and the repairs
	drawn   []rules.Picture
	guarded []string // safety steps that a repair names and that are said
}

// A picture takes the room of a few steps: a sheet of few steps has one, a longer
// one has none; the teardown plan has them all.
const fewSteps = 18

// paper takes the list as far as it is likely to go, and the repairs.
func (j *jobSheet) paper() *paper {
	p := &paper{jobSheet: j, opened: slices.Clone(j.Case.Pump.Open)}
	looks := doc.Only(j.Plan.Steps, func(s work.Step) bool { return s.Kind != work.StepReturn })
	end := j.lastLook(looks)
	p.steps = looks[:end]
	p.left = doc.Only(looks[end:], func(s work.Step) bool { return s.Kind == work.StepCheck || s.Kind == work.StepOpening })
	for _, s := range p.steps {
		if s.Kind == work.StepOpening {
			p.opened = append(p.opened, evidence.At{ID: s.ID, Place: s.Place})
		}
	}
	p.likelyRepairs()
	return p
}

// lastLook says how many steps stand on paper: up to where the trouble is found
// with nearlyFound of what the whole list finds, the first look behind the
// isolation, a look at each trouble and at its likely root, and the same look
// everywhere.
func (j *jobSheet) lastLook(looks []work.Step) int {
	found, end := 0.0, 0
	for _, s := range looks {
		found = max(found, s.FoundByHere)
	}
	upTo := func(holds func(s *work.Step) bool) {
		i := slices.IndexFunc(looks, func(s work.Step) bool { return s.Kind == work.StepCheck && holds(&s) })
		end = max(end, i+1)
	}
	upTo(func(s *work.Step) bool { return s.FoundByHere >= nearlyFound*found })
	upTo(func(s *work.Step) bool { return needsIsolation(s) })
	for _, t := range j.Plan.Troubles {
		upTo(func(s *work.Step) bool {
			return slices.Contains(s.Looks, t.Failed[0].Title) && s.Place == t.Failed[0].Place
		})
		if roots := shownRoots(&t); len(roots) > 0 && roots[0].Probability >= leastRepaired {
			upTo(func(s *work.Step) bool {
				return slices.Contains(s.Looks, roots[0].Title) && (s.Place == roots[0].Place || s.Place == evidence.Place{} || roots[0].Place == evidence.Place{})
			})
		}
	}
	if end == 0 {
		return len(looks)
	}
	for i := 0; i < end; {
		size, times := alike(looks[i:])
		i += size * times
		end = max(end, i)
	}
	return min(end, len(looks))
}

// mostAlike is how many steps may be repeated together.
const mostAlike = 6

// alike says how many steps at the head of a list are repeated at other places
// right behind them, and how often they stand there in all: 1, 1 if they are not.
func alike(list []work.Step) (size, times int) {
	same := func(a, b work.Step) bool { return a.Kind == b.Kind && a.ID == b.ID && a.Kind != work.StepSafety }
	for size = 1; size <= mostAlike && 2*size <= len(list); size++ {
		times = 1
		for (times+1)*size <= len(list) && slices.EqualFunc(list[:size], list[times*size:(times+1)*size], same) {
			times++
		}
		if times > 1 {
			return size, times
		}
	}
	return 1, 1
}

// looks are the steps up to the last one on paper, those of the site's stop and
// isolation in panels at their place.
func (j *jobSheet) looks(p *paper) []doc.Section {
	var out []doc.Section
	site := func(s work.Step) bool { return j.planned().ofSite(&s) }
	isolates := func(s work.Step) bool {
		return site(s) && j.Book.Safety.Get(s.ID).For == rules.ForIsolation
	}
	stands := notIsolated
	if j.Case.Pump.State == evidence.Isolated {
		stands = takenOver
		if slices.ContainsFunc(p.steps, site) {
			stands = toTakeOver
		}
	}
	for rest := p.steps; len(rest) > 0; {
		n := slices.IndexFunc(rest, func(s work.Step) bool { return site(s) != site(rest[0]) })
		if n < 0 {
			n = len(rest)
		}
		if site(rest[0]) {
			if slices.ContainsFunc(rest[:n], isolates) || stands == partIsolated {
				if stands = takenOver; slices.ContainsFunc(rest[n:], isolates) {
					stands = partIsolated
				}
			}
			out = append(out, j.isolation(rest[:n], stands))
		} else {
			out = append(out, doc.Section{Heading: lookHead(rest[:n], stands), Parts: p.list(rest[:n], true)})
		}
		rest = rest[n:]
	}
	if stands == notIsolated && len(p.left)+len(p.opened) == 0 {
		out = append(out, doc.Section{Parts: []doc.Part{doc.Text("No step of this list needs the pump isolated. Whoever opens anything all the same isolates it first, by the site's procedure.")}})
	}
	if len(out) > 0 {
		last := &out[len(out)-1]
		last.Parts = append(last.Parts, doc.Text(doc.If(firstCheck(j.Plan.Report) != nil, "When a check shows the cause, leave the list there and repair it. Write the result into the case and run telltale again.")), j.leftOff(p))
		last.Parts = append(last.Parts, j.whileOpen(p)...)
	}
	return out
}

// isolation is how far the pump is isolated at a place of the sheet.
type isolation int

const (
	notIsolated  isolation = iota
	toTakeOver             // isolated by the case; nobody has taken it over yet
	partIsolated           // more lines of the isolation come below
	takenOver
)

// lookHead names what is looked at, and how the pump stands.
func lookHead(list []work.Step, stands isolation) string {
	running := slices.ContainsFunc(list, func(s work.Step) bool { return s.Pump == string(rules.NeedsRunning) })
	switch {
	case stands == takenOver:
		return "Open and look, behind the isolation"
	case stands == partIsolated:
		return "Look, hands outside: not isolated yet"
	case running:
		return "Look while the pump still runs, before you isolate it"
	case stands == toTakeOver:
		return "Look from outside, before you take the isolation over"
	}
	return "Look before you isolate"
}

// isolation has the steps of the site's stop and isolation, to tick and sign.
func (j *jobSheet) isolation(list []work.Step, stands isolation) doc.Section {
	t := &doc.Table{Head: []string{"", "What is done", "Who", "Lock, tag", "Time"}, Room: true, Flow: true}
	signal := ""
	for i := range list {
		s := &list[i]
		step := j.Book.Safety.Get(s.ID).On(j.Book.TakesOver(j.Case))
		if signal == "" || s.Signal == string(rules.Danger) {
			signal = s.Signal
		}
		lock := doc.Cell{}
		if len(step.LockOn) == 0 {
			lock.Text = "-"
		}
		t.Rows = append(t.Rows, []doc.Cell{{Text: fmt.Sprint(s.Number), Boxes: []string{""}}, {Text: together(doc.Ended(s.Title), j.Book.Fill(j.Case, step.Short)), Long: true}, {}, lock, {}})
	}
	head, text := "Stop the pump", ""
	switch stands {
	case takenOver:
		head, t.Head[1] = "Isolate before hands go in", "What is done to isolate" // it may run over two pages
	case partIsolated:
		head, t.Head[1] = "Isolate, first part", "What is done to isolate, first part"
		text = " This is not all of it: open nothing. The rest is further down."
	}
	return doc.Section{Heading: head, Panel: true, Parts: []doc.Part{{
		Signal: signal, Head: signalMeaning(signal), Table: t,
		Text: []string{"The site's isolation procedure and permit govern. Go on only when every line is ticked and signed." + text},
	}}}
}

// signalMeaning is what a signal word means.
func signalMeaning(word string) string {
	for _, s := range signals {
		if s.word == word {
			return words.Capital(s.meaning) + "."
		}
	}
	return ""
}

// list lays steps out on few lines: the same steps at several places once, and
// what was said before by its number. Returns have no numbers of the list.
func (p *paper) list(steps []work.Step, numbered bool) []doc.Part {
	var out []doc.Part
	said := map[string]*work.Step{}
	for i := 0; i < len(steps); {
		size, times := alike(steps[i:])
		if times > 1 && size > 1 {
			out = append(out, doc.Part{Text: []string{fmt.Sprintf("%s: one place after the other, each time all of them.", words.Capital(words.Steps(numbersOf(steps[i:i+size*times]))))}, With: true})
		}
		for n := range size {
			s := &steps[i+n]
			var at []*work.Step
			for k := range times {
				at = append(at, &steps[i+n+k*size])
			}
			out = append(out, doc.Part{Step: p.step(s, at, said[s.Kind+s.ID], numbered), With: s.Kind == work.StepSafety && (i+n+1 == len(steps) || steps[i+n+1].Kind != work.StepSafety)})
			if said[s.Kind+s.ID] == nil && s.Kind != work.StepSafety {
				said[s.Kind+s.ID] = s
			}
		}
		i += size * times
	}
	return out
}

func numbersOf(steps []work.Step) []int {
	return doc.Each(steps, func(s work.Step) int { return s.Number })
}

// step lays one step out; at are the same steps at several places, itself first,
// and said is one of before that says the same.
func (p *paper) step(s *work.Step, at []*work.Step, said *work.Step, numbered bool) *doc.Step {
	out := &doc.Step{Number: s.Number, Tick: len(at) == 1, Short: true, Signal: s.Signal, Title: words.Titled(s.Title, s.Place), To: entryOf(s.Kind, s.ID, s.Title), Do: s.Do}
	if r := p.Book.Returns.Get(s.ID); r != nil && s.Kind == work.StepReturn {
		out.Do = work.ReturnShort(p.Book, p.Case, r)
	} else if safety := p.Book.Safety.Get(s.ID); s.Kind == work.StepSafety && safety != nil && safety.Short != "" {
		out.Do = p.Book.Fill(p.Case, safety.Short)
	}
	out.Do = ofKind(out.Do, p.Case.Pump.Action)
	if numbered {
		out.Notes = doc.Said(doc.If(s.Minutes > 0 && s.Kind != work.StepSafety, words.Minutes(s.Minutes)))
	}
	if len(at) > 1 {
		out.Title = s.Title
	}
	if s.Picture != "" && said == nil && len(p.drawn) == 0 && len(p.steps) <= fewSteps && !p.shimmed() {
		p.drawn = append(p.drawn, s.Picture)
		out.Figure = Picture(s.Picture)
	}
	many := len(at) > 1
	switch {
	case said != nil && many:
		out.Do = fmt.Sprintf("As step %d.", said.Number)
		for i, r := range s.Results {
			out.Do += " " + letter(i) + ". " + doc.Ended(r.If)
		}
	case said != nil:
		out.Do = fmt.Sprintf("As step %d.", said.Number)
		out.Boxes = doc.Each(s.Results, func(r work.Result) string { return r.If })
	case many && len(s.Results) > 0:
		for i, r := range s.Results {
			out.Results = append(out.Results, doc.Item{Strong: letter(i) + ". " + r.If + ":", Text: r.Then})
		}
	default:
		out.Results = results(s)
	}
	lay := planned{p.Plan}
	if s.Kind != work.StepReturn {
		for _, one := range at {
			p.room(out, one, lay, many, len(s.Results))
		}
	} else if many {
		out.Boxes = doc.Each(at, func(s *work.Step) string { return words.Place(s.Place) })
	}
	return out
}

// room leaves room for what a step finds at one place.
func (p *paper) room(out *doc.Step, s *work.Step, lay planned, many bool, results int) {
	if s.Kind == work.StepOpening && many {
		out.Boxes = append(out.Boxes, bracketed(words.Place(s.Place), fmt.Sprintf("step %d", s.Number)))
		return
	}
	if s.Kind != work.StepCheck {
		return
	}
	var read doc.Step
	lay.readings(&read, s, false)
	for _, limit := range read.Limits {
		_, figure, _ := strings.Cut(limit, ": ")
		told := figure != "" && !strings.Contains(figure, "___") && strings.Contains(s.Do, figure)
		if !told && !slices.Contains(out.Limits, limit) {
			out.Limits = append(out.Limits, limit)
		}
	}
	if !many {
		if out.Blanks = read.Blanks; len(read.Blanks) == 0 {
			out.Blanks = []doc.Blank{{Label: "Found:"}}
		}
		return
	}
	place := doc.Blank{Label: bracketed(words.Capital(words.Place(s.Place)), fmt.Sprintf("step %d", s.Number)) + ":", Items: []string{"found"}}
	for i := range results {
		place.Boxes = append(place.Boxes, letter(i))
	}
	out.Blanks = append(append(out.Blanks, place), read.Blanks...)
}

// ofOneKind begins a sentence that is for one kind of pump alone.
var ofOneKind = regexp.MustCompile(`^(?:(Triplex|Duplex): |On a (triplex|duplex) )`)

// ofKind leaves out the sentences of a text that are for the other kind of pump.
func ofKind(text string, action evidence.Action) string {
	var out []string
	for _, sentence := range rules.Sentences(text) {
		if of := ofOneKind.FindStringSubmatch(sentence); of != nil {
			if strings.EqualFold(of[1]+of[2], "triplex") != (action == evidence.Triplex) {
				continue
			}
			sentence = words.Capital(strings.TrimPrefix(sentence, of[0]))
		}
		out = append(out, sentence)
	}
	return strings.Join(out, " ")
}

func letter(i int) string { return string(rune('A' + i)) }

// tools are those of the steps on paper and of the openings of the repairs.
func (p *paper) tools() []string {
	var out []string
	all := slices.Clone(p.steps)
	for _, r := range p.repairs {
		all = append(all, r.opens...)
	}
	for _, s := range all {
		for _, tool := range s.Tools {
			if !slices.Contains(out, tool) {
				out = append(out, tool)
			}
		}
	}
	slices.Sort(out)
	return out
}

// open is the case with all that the sheet opens open.
func (p *paper) open() *evidence.Case {
	k := *p.Case
	k.Pump.Open = p.opened
	if slices.ContainsFunc(p.steps, func(s work.Step) bool { return s.Pump == string(rules.NeedsIsolated) }) || len(p.opened) > 0 {
		k.Pump.State = evidence.Isolated
	}
	return &k
}

// returns are the steps back to service for what the sheet opens.
func (p *paper) returns() []work.Step {
	if !slices.ContainsFunc(p.Plan.Steps, func(s work.Step) bool { return s.Kind == work.StepReturn }) {
		return nil
	}
	return work.Returns(p.Book, p.open(), p.Plan.OutOfService)
}

// fromManual is a blank or a figure of a text with where it comes from.
var fromManual = regexp.MustCompile(`(______|[^\s(]+ [^\s(]+(?: \([^()]*\))?) (\([^()]*this pump's manual[^()]*\))`)

// sourcesOnce says where a figure comes from where it stands first, and nowhere
// again.
func sourcesOnce(d *doc.Document) {
	said := map[string]bool{}
	once := func(text string) string {
		return fromManual.ReplaceAllStringFunc(text, func(found string) string {
			figure := fromManual.FindStringSubmatch(found)[1]
			if said[found] {
				return figure
			}
			said[found] = true
			return found
		})
	}
	items := func(list []doc.Item) {
		for i := range list {
			list[i].Strong, list[i].Text = once(list[i].Strong), once(list[i].Text)
		}
	}
	for _, s := range d.Sections {
		for i := range s.Parts {
			p := &s.Parts[i]
			items(p.Items)
			if p.Step == nil {
				continue
			}
			p.Step.Do = once(p.Step.Do)
			for n := range p.Step.Limits {
				p.Step.Limits[n] = once(p.Step.Limits[n])
			}
			items(p.Step.Results)
		}
	}
}
