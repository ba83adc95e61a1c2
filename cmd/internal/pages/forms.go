package pages

import (
	"slices"
	"strings"
	"time"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/words"
	"telltale/evidence"
	"telltale/rules"
)

// Kind says in words which kind of pump a blank form is for.
func kindOf(action evidence.Action) string { return words.Pump(string(action)) }

// FormList lists the blank forms, with what each is taken along for. Each names the
// form for a kind of pump, so that a page can lead to it.
func FormList(book *rules.Book) *doc.Document {
	d := &doc.Document{Title: "BLANK FORMS", Lines: []string{"Printed to take along, filled in by hand at the pump, typed into the case line by line."}}
	part := doc.Part{}
	for _, f := range book.Forms.List {
		var kinds []string
		var to []doc.Ref
		for _, kind := range PumpKinds() {
			kinds = append(kinds, kind.Name)
			to = append(to, doc.Ref{Kind: "form", ID: f.ID + "/" + kind.Name, Words: kind.Name})
		}
		part.Items = append(part.Items, doc.Item{Strong: f.ID + ":", Text: f.Use + " For " + strings.Join(kinds, " or ") + ".", To: to})
	}
	d.Add(doc.Section{Heading: "One for each task", Parts: []doc.Part{part}})
	return d
}

// PumpKind is a kind of pump by its short name.
type PumpKind struct {
	Name   string
	Action evidence.Action
}

// PumpKinds are the kinds of pump that there are forms for.
func PumpKinds() []PumpKind {
	return []PumpKind{{"triplex", evidence.Triplex}, {"duplex", evidence.Duplex}}
}

// Forms are the blank forms of some tasks for a kind of pump, each on pages of its
// own: what guards the task first, then what is asked in the order of the hand. Behind
// each line stand the words that type it into a case. No figure of a manual is on them.
func Forms(book *rules.Book, forms []*rules.Form, action evidence.Action, at time.Time) *doc.Document {
	kind := kindOf(action)
	name, digest := book.Name+", version "+book.Version+", digest "+book.Digest, doc.SafeFoot(book.Digest, 12)
	if local := book.Local; local != nil {
		name, digest = name+"; changed by the "+local.String(), digest+" + local "+doc.SafeFoot(local.Digest, 12)
	}
	title, foot := "BLANK FORMS: "+kind, "Blank forms"
	if len(forms) == 1 {
		title, foot = "BLANK FORM. "+strings.ToUpper(forms[0].Title)+": "+kind, forms[0].Title
	}
	short, _, _ := strings.Cut(kind, " ")
	d := &doc.Document{
		Title: title,
		Lines: []string{
			Govern,
			"What nobody looked at stays empty: unknown is not no. Typed in line by line: telltale note CASE, the words in small type, then what was ticked or written; what has a blank in it in quotes: back.top=\"141 thou\". An empty KEY= is left out.",
			"Rulebook: " + name + ". Written: " + evidence.When(at) + ".",
		},
		Foot: doc.SafeFoot(foot, 30) + ", " + short + " - " + doc.SafeFoot(evidence.When(at), 30) + " - rulebook " + digest,
	}
	for i, f := range forms {
		b := blankForm{book: book, bare: rules.BareCase(action), form: f}
		sections := b.sections()
		if len(forms) > 1 {
			d.Add(doc.Section{Heading: strings.ToUpper(f.Title), Page: i > 0, Parts: []doc.Part{doc.Text(f.Use)}})
		}
		d.Add(sections...)
	}
	return d
}

// blankForm is one form for a bare pump.
type blankForm struct {
	book *rules.Book
	bare *evidence.Case
	form *rules.Form
}

func (b *blankForm) sections() []doc.Section {
	out := []doc.Section{b.head()}
	guarded := map[bool]bool{}
	for _, a := range b.form.Asks {
		s := b.asked(a)
		if len(s.Parts) == 0 {
			continue
		}
		if in := b.book.BehindIsolation(a); !guarded[in] && !guarded[true] {
			out = append(out, b.guards(in))
			guarded[in] = true
		}
		out = append(out, s)
	}
	return out
}

// head is which pump, when and who.
func (b *blankForm) head() doc.Section {
	return tabled("", &doc.Table{
		Head: []string{"Case file or job", "Date (date)", "Meter hours (hours)", "Running, stopped, isolated (state)", `Filled in by (log "` + b.form.Title + `" by)`, "Time (at)"}, Room: true,
		Rows: [][]doc.Cell{make([]doc.Cell, 6)},
	})
}

// guards is what must be safe before what is asked: on the running pump, or behind
// the isolation.
func (b *blankForm) guards(isolated bool) doc.Section {
	var steps []*rules.Safety
	s := doc.Section{Heading: "BEFORE YOU LOOK", Panel: true, Keep: true}
	if isolated {
		s.Heading = "BEFORE HANDS GO IN"
		steps = b.isolation()
	} else {
		steps = doc.Only(b.book.Safety.List, func(step *rules.Safety) bool { return step.For == rules.ForRunning && step.When.Holds(b.bare, b.book) })
	}
	done := doc.Part{Columns: true}
	for _, step := range steps {
		done.Items = append(done.Items, doc.Item{Box: doc.ToTick, Strong: strings.ToUpper(string(step.Signal)) + ":", Text: step.Title})
	}
	if isolated {
		done.Text = []string{"The site's isolation procedure and permit have the words and govern. In this order, each ticked by who saw it:"}
	}
	cautions := doc.Part{Items: doc.Each(b.cautions(isolated), func(step *rules.Safety) doc.Item {
		return doc.Item{Strong: strings.ToUpper(string(step.Signal)) + ": " + step.Title + ".", Text: b.book.Fill(b.bare, step.Do)}
	})}
	s.Parts = []doc.Part{done, cautions}
	return s
}

// cautions are the named safety steps of the form that stand with this panel: those
// that come after the isolation stand behind it.
func (b *blankForm) cautions(isolated bool) []*rules.Safety {
	steps := b.isolation()
	return doc.Only(b.book.Cautions(b.form, b.bare), func(s *rules.Safety) bool {
		return slices.ContainsFunc(s.After, func(id string) bool {
			return slices.ContainsFunc(steps, func(step *rules.Safety) bool { return step.ID == id })
		}) == isolated
	})
}

// isolation lists the steps of stopping and isolating, each after what the
// rulebook puts before it.
func (b *blankForm) isolation() []*rules.Safety {
	var open, out []*rules.Safety
	for _, step := range b.book.Safety.List {
		if (step.For == rules.ForStopping || step.For == rules.ForIsolation) && step.When.Holds(b.bare, b.book) {
			open = append(open, step)
		}
	}
	waits := func(step *rules.Safety) bool {
		return slices.ContainsFunc(open, func(other *rules.Safety) bool { return slices.Contains(step.After, other.ID) })
	}
	for len(open) > 0 {
		next := max(0, slices.IndexFunc(open, func(step *rules.Safety) bool { return !waits(step) }))
		out = append(out, open[next])
		open = slices.Delete(open, next, next+1)
	}
	return out
}

// asked is one piece of the form; without parts where the pump has nothing of it.
func (b *blankForm) asked(a rules.Asked) doc.Section {
	s := doc.Section{Heading: a.Title}
	var t *doc.Table
	switch {
	case a.Readings != "":
		return b.readings(a)
	case len(a.Signs) > 0:
		t = b.signs(a.Signs)
	case len(a.Checks) > 0:
		t = b.checks(a.Checks)
	case len(a.Works) > 0:
		t = b.works(a.Works)
	case len(a.Parts) > 0:
		t = b.parts(a.Parts)
	case len(a.Limits) > 0:
		t = b.limits(a.Limits)
	case len(a.Pump) > 0:
		t = b.pump(a.Pump)
	case len(a.Log) > 0:
		t = b.log(a.Log)
	}
	for _, list := range a.Lists {
		t = b.locks(list)
	}
	if len(t.Rows) > 0 {
		s.Parts = []doc.Part{{Table: t}}
	}
	return s
}

// places are the words behind the boxes of a level; one box without a word for
// the whole pump.
func (b *blankForm) places(level evidence.Level) []string {
	return doc.Each(b.bare.Pump.Places(level), evidence.Place.String)
}

// signs has a line for each sign, with a box for each kind and place.
func (b *blankForm) signs(ids []string) *doc.Table {
	t := &doc.Table{Head: []string{"Sign", "Seen", "Not there (absent)"}, Flow: true}
	for _, id := range ids {
		sign := b.book.Signs.Get(id)
		if !sign.When.Holds(b.bare, b.book) {
			continue
		}
		boxes := b.places(sign.Level)
		kinds := []doc.Kind{{Boxes: boxes, Typed: string(evidence.Present)}}
		if len(sign.Kinds) > 0 {
			kinds = doc.Each(sign.Kinds, func(k rules.Kind) doc.Kind {
				kind := doc.Kind{Text: k.Title + ":", Boxes: boxes, Typed: k.ID}
				if strings.ReplaceAll(k.ID, "-", " ") == k.Title {
					kind.Text = ""
				}
				return kind
			})
		}
		t.Rows = append(t.Rows, []doc.Cell{{Text: sign.Title, Typed: id}, {Kinds: kinds}, {Boxes: boxes}})
	}
	return t
}

// checks has a line for each check that may find nothing.
func (b *blankForm) checks(ids []string) *doc.Table {
	t := &doc.Table{Head: []string{"Check", "Nothing found (nothing)", "Not clear (unclear)"}, Flow: true}
	for _, id := range ids {
		if c := b.book.Checks.Get(id); c.When.Holds(b.bare, b.book) {
			boxes := b.places(c.Level)
			t.Rows = append(t.Rows, []doc.Cell{{Text: c.Title, Typed: id}, {Boxes: boxes}, {Boxes: boxes}})
		}
	}
	return t
}

// works has a line for each work done lately.
func (b *blankForm) works(ids []string) *doc.Table {
	t := &doc.Table{Head: []string{"Work", "Done", "When, and did it help?"}, Flow: true}
	for _, id := range ids {
		t.Rows = append(t.Rows, []doc.Cell{{Text: b.book.Works.Get(id).Title, Typed: "recent " + id}, {Boxes: []string{""}}, {Boxes: []string{
			string(evidence.BeforeTrouble), string(evidence.AfterTrouble), "cured", "not-cured",
		}}})
	}
	return t
}

// parts has a line for each part that may be put in new.
func (b *blankForm) parts(ids []string) *doc.Table {
	t := &doc.Table{Head: []string{"Part", "Put in new, at", "Put in new, the old one was good (still-good)"}, Flow: true}
	for _, id := range ids {
		if p := b.book.Parts.Get(id); p.When.Holds(b.bare, b.book) {
			boxes := b.places(p.Level)
			t.Rows = append(t.Rows, []doc.Cell{{Text: p.Title, Typed: "changed " + id}, {Boxes: boxes}, {Boxes: boxes}})
		}
	}
	return t
}

// limits has room for figures of the manual.
func (b *blankForm) limits(ids []string) *doc.Table {
	t := &doc.Table{Head: []string{"Figure", "Manual says", "Figure", "Manual says"}, Room: true}
	for _, id := range ids {
		cell := doc.Cell{Text: b.book.Limits.Get(id).Title, Typed: "manual " + id, Wide: true}
		if last := len(t.Rows) - 1; last >= 0 && t.Rows[last][2].Text == "" {
			t.Rows[last][2] = cell
		} else {
			t.Rows = append(t.Rows, []doc.Cell{cell, {}, {}, {}})
		}
	}
	return t
}

// pump has room for what the pump is.
func (b *blankForm) pump(keys []string) *doc.Table {
	t := &doc.Table{Room: true, Rows: [][]doc.Cell{nil}}
	for _, key := range keys {
		if key == "piston-rod" && b.bare.Pump.Action != evidence.Duplex {
			continue
		}
		cell := doc.Cell{}
		switch key {
		case "state":
			cell.Boxes = evidence.PumpStates()
		case "rotation":
			cell.Boxes = evidence.Rotations()
		}
		t.Head = append(t.Head, words.Capital(strings.ReplaceAll(key, "-", " "))+" ("+key+")")
		t.Rows[0] = append(t.Rows[0], cell)
	}
	return t
}

// log has lines for what is told in words.
func (b *blankForm) log(titles []string) *doc.Table {
	t := &doc.Table{Head: []string{"What", "In words", "Who (by)", "When (at)"}, Room: true}
	for _, title := range titles {
		t.Rows = append(t.Rows, []doc.Cell{{Text: title, Typed: `log "` + title + `: ..."`}, {Long: true}, {}, {}})
	}
	return t
}

// besides is how many empty lines a list of the isolation has.
const besides = 2

// locks has a line for each thing that a lock hangs on, or that stays open.
func (b *blankForm) locks(list string) *doc.Table {
	t := &doc.Table{Head: []string{"Lock on", "Whose (by)", "Since (at)", "Tag (tag)", "Key (key)", "Taken off (lock off, by)", "At (at)"}, Room: true, Flow: true}
	words := "lock on "
	if list == rules.ListsOpen {
		t.Head = []string{"Stays open", "Left open (by)", "Since (at)", "Shut again (shut, by)", "At (at)"}
		words = "stays-open "
	}
	add := func(what string) {
		row := make([]doc.Cell, len(t.Head))
		row[0] = doc.Cell{Text: what, Typed: strings.TrimSpace(words + quoted(what)), Wide: true}
		t.Rows = append(t.Rows, row)
	}
	for _, step := range b.isolation() {
		names := step.LockOn
		if list == rules.ListsOpen {
			names = step.LeavesOpen
		}
		for _, what := range names {
			add(what)
		}
	}
	for range besides {
		add("")
	}
	return t
}

// quoted is a word of a command line: in quotes where it has several.
func quoted(text string) string {
	if strings.ContainsAny(text, " '") {
		return `"` + text + `"`
	}
	return text
}

// readings is a block at each of its places: how it is taken once, and a line for each
// thing that is typed in by itself.
func (b *blankForm) readings(a rules.Asked) doc.Section {
	block := BlockNamed(a.Readings)
	s := doc.Section{Heading: block.Title()}
	if a.Readings == "piston-rod" && b.bare.Pump.Action != evidence.Duplex {
		return s
	}
	s.Parts = append(s.Parts, doc.Part{Text: doc.Said(BlockHow(a.Readings)), With: true})
	t := &doc.Table{Head: []string{"Readings"}, Flow: true}
	if taken := b.blanks(block.Taken()); len(taken) > 0 && !a.Asides {
		t.Rows = append(t.Rows, []doc.Cell{{Text: "At all places:", Blanks: taken}})
	}
	for _, at := range b.bare.Pump.Places(block.Level) {
		for _, c := range block.Commands(at, a.Asides) {
			typed := strings.Join(append([]string{c.Words}, doc.Each(c.Taken, func(f Field) string { return f.Key + "=" })...), " ")
			t.Rows = append(t.Rows, []doc.Cell{{Blanks: b.blanks(c.Fields), Typed: typed}})
		}
	}
	s.Parts = append(s.Parts, doc.Part{Table: t})
	return s
}

// blanks has room for the fields of a form; those that are written stand together.
func (b *blankForm) blanks(fields []Field) (out []doc.Blank) {
	for _, f := range fields {
		last, named := len(out)-1, f.Named()
		if what, end, found := strings.Cut(f.Key, "."); found && (what == "put-in" || what == "taken-out") {
			named = doc.If(end == "rear", what+" ") + strings.ToLower(f.Label[:1]) + f.Label[1:] // note takes them by their order
		}
		switch choices := b.choices(f); {
		case len(choices) > 0:
			out = append(out, doc.Blank{Label: named, Boxes: choices})
		case last >= 0 && len(out[last].Items) > 0:
			out[last].Items = append(out[last].Items, named)
		default:
			out = append(out, doc.Blank{Items: []string{named}})
		}
	}
	return out
}

// choices are the words of which one stands in a field; none where it is a figure.
func (b *blankForm) choices(f Field) []string {
	if f.Key == "mud" {
		return b.book.Muds.IDs()
	}
	return f.Words
}
