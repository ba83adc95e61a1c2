package cli

import (
	"cmp"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/prompt"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/evidence/rig"
	"telltale/rules"
)

// rigTalk is the talk that comes before ask has a file, in the folder of a rig: which
// open job it is, a new job on a pump, or a new pump. Nothing that the file of a pump
// knows is asked.
type rigTalk struct {
	book   *rules.Book
	dir    string
	now    func() time.Time
	wrote  func(path string) // is told what was written
	rig    *rig.Rig
	turn   rigTurn
	before []rigTurn
	over   bool
	file   string // the job; "" while none is chosen
	fresh  bool   // it was begun just now
}

type rigTurn = prompt.Turn[rigStep]

// rigStep is what an answer comes to: it gives what is asked next, or an end of the
// talk without a prompt.
type rigStep func() (rigTurn, error)

// isRig says whether a folder is one of a rig, or is to become one: it is named, and
// is a folder.
func isRig(named string) bool {
	dir := cmp.Or(named, ".")
	if info, err := os.Stat(dir); err != nil || !info.IsDir() {
		return false
	}
	info, err := os.Stat(filepath.Join(dir, rig.PumpsFolder))
	return named != "" || err == nil && info.IsDir()
}

func newRigTalk(book *rules.Book, dir string, now func() time.Time, wrote func(path string)) (*rigTalk, error) {
	t := &rigTalk{book: book, dir: dir, now: now, wrote: wrote}
	var missing []string
	for _, name := range []string{rig.PumpsFolder, rig.JobsFolder} {
		if info, err := os.Stat(filepath.Join(dir, name)); err != nil || !info.IsDir() {
			missing = append(missing, name)
		}
	}
	var err error
	if t.turn = t.makeFolders(missing); len(missing) == 0 {
		t.turn, err = t.choose("")
	}
	return t, err
}

// Prompt is as of talk.Conversation.
func (t *rigTalk) Prompt() (prompt.Prompt, error) {
	if t.over {
		return prompt.Prompt{ID: "over", News: t.turn.News}, nil
	}
	p := t.turn.Prompt
	p.Leave = "leave"
	if len(t.before) > 0 {
		p.Back = "back"
	}
	return p, nil
}

// Answer is as of talk.Conversation.
func (t *rigTalk) Answer(a prompt.Answer) error {
	if n := len(t.before); a.One() == prompt.Back && n > 0 {
		t.turn, t.before = t.before[n-1], t.before[:n-1]
		return nil
	}
	next := t.turn.Take(a.Clean())
	if next.Take != nil {
		t.before, t.turn = append(t.before, t.turn), next
		return nil
	}
	next, err := next.End()
	if err != nil {
		return err
	}
	t.turn, t.before, t.over = next, nil, next.Take == nil
	return nil
}

// stop ends the talk.
func stop(texts ...string) rigTurn {
	return rigTurn{Prompt: prompt.Prompt{News: prompt.Lines(prompt.Text, texts...)}}
}

// makeFolders makes what a rig needs, on a yes.
func (t *rigTalk) makeFolders(missing []string) rigTurn {
	what := strings.Join(missing, " and ")
	p := prompt.Prompt{
		ID: "make", Ask: fmt.Sprintf("%s has no %s in it, which the folder of a rig has. Make it a rig: make %s?", t.dir, what, what),
		Options: []prompt.Option{{ID: "yes", Title: "yes, make it"}, {ID: "no", Title: "no"}},
	}
	return rigTurn{Prompt: p, Take: func(a prompt.Answer) rigTurn {
		return prompt.End(rigStep(func() (rigTurn, error) {
			if a.One() == "no" {
				return stop(), nil
			}
			for _, name := range missing {
				if err := os.Mkdir(filepath.Join(t.dir, name), 0o755); err != nil && !errors.Is(err, os.ErrExist) {
					return stop(), fileError{err}
				}
				t.wrote(filepath.Join(t.dir, name))
			}
			return t.choose("")
		}))
	}}
}

// choose offers the open jobs of the rig, the youngest first, a new one on each pump,
// and a new pump.
func (t *rigTalk) choose(news string) (rigTurn, error) {
	var err error
	if t.rig, err = rig.Read(t.dir, t.book.Vocabulary()); err != nil {
		return stop(), fileError{err}
	}
	if len(t.rig.Pumps)+len(t.rig.Unread) == 0 {
		return t.newPump(""), nil
	}
	p := prompt.Prompt{ID: "rig", Ask: "Which job?", News: prompt.Lines(prompt.Text, doc.Said(news)...)}
	for _, u := range t.rig.Unread {
		why, _, _ := strings.Cut(u.Err.Error(), "\n")
		p.News = append(p.News, prompt.Line{Kind: prompt.Text, Text: "Not counted: " + u.Path + ": " + why})
	}
	var open []*evidence.Case
	for i := range t.rig.Pumps {
		open = append(open, doc.Only(t.rig.Pumps[i].Jobs, func(k *evidence.Case) bool { return !k.Job.IsClosed() })...)
	}
	slices.SortStableFunc(open, func(a, b *evidence.Case) int {
		return cmp.Or(b.Job.Date.Compare(a.Job.Date), cmp.Compare(a.File, b.File))
	})
	for _, k := range open[:min(len(open), mostJobs)] {
		p.Options = append(p.Options, prompt.Option{ID: k.File, Title: k.Job.Date.Format(evidence.DateForm) + ", " + jobLine(k)})
	}
	for i := range t.rig.Pumps {
		p.Options = append(p.Options, prompt.Option{ID: newJob + " " + t.rig.Pumps[i].Name, Title: "a new job on " + t.rig.Pumps[i].Pump.Name})
	}
	p.Options = append(p.Options, prompt.Option{ID: newPumpID, Title: "a new pump"})
	return rigTurn{Prompt: p, Take: func(a prompt.Answer) rigTurn {
		name, isNew := strings.CutPrefix(a.One(), newJob+" ")
		switch {
		case a.One() == newPumpID:
			return t.newPump("")
		case isNew:
			return t.hours(t.rig.Named(name), "")
		}
		return prompt.End(rigStep(func() (rigTurn, error) {
			t.file = a.One()
			return stop(), nil
		}))
	}}, nil
}

// newPumpID is the option of a pump that has no file yet. No pump's file can be called
// so, nor a job.
const newPumpID = "new pump"

// hours asks what the meter shows. What cannot be is asked again.
func (t *rigTalk) hours(p *rig.Pump, why string) rigTurn {
	entry := prompt.Entry{Of: evidence.Duration, Unit: "h"}
	ask := prompt.Prompt{
		ID: "hours", Ask: "What does the hour meter of " + p.Pump.Name + " show now?", News: prompt.Lines(prompt.Text, doc.Said(why)...),
		Entry: &entry, Options: []prompt.Option{{ID: "unknown", Title: "nobody reads it now", Aside: true}},
	}
	last, shown := lastShown(p)
	if shown != nil {
		ask.Ask += fmt.Sprintf(" It showed %s on %s.", shown.Written, last.Format(evidence.DateForm))
	}
	return rigTurn{Prompt: ask, Take: func(a prompt.Answer) rigTurn {
		if a.Text == "" {
			return t.stands(p, "")
		}
		hours, _ := entry.Read(a.Text) // the prompt has checked it
		passed := t.now().Sub(last).Hours() + 24
		switch {
		case hours < 0:
			return t.hours(p, "A meter shows no hours below zero.")
		case shown != nil && hours < shown.In("h"):
			return t.hours(p, fmt.Sprintf("That is less than it showed on %s. If a new meter was put in, it is noted in the pump's file: new-meter.", last.Format(evidence.DateForm)))
		case shown != nil && hours-shown.In("h") > passed:
			return t.hours(p, fmt.Sprintf("That is %.0f h more than on %s, and no more than %.0f h have passed.", hours-shown.In("h"), last.Format(evidence.DateForm), passed))
		}
		return t.stands(p, entry.Written(a.Text))
	}}
}

// lastShown is what the meter of a pump showed last, by its file and its jobs, and
// when; nil if nobody ever read it.
func lastShown(p *rig.Pump) (day time.Time, shown *evidence.Quantity) {
	for i := range p.Meter {
		m := &p.Meter[i]
		day, shown = m.Date, &m.Hours
		if m.NewMeter != nil {
			shown = m.NewMeter
		}
	}
	for _, k := range p.Jobs {
		if h := k.Job.Hours; h != nil && (shown == nil || k.Job.Date.After(day) || k.Job.Date.Equal(day) && h.SI > shown.SI) {
			day, shown = k.Job.Date, h
		}
	}
	return day, shown
}

// stands asks how the pump stands, and begins the job.
func (t *rigTalk) stands(p *rig.Pump, hours string) rigTurn {
	ask := prompt.Prompt{ID: "state", Ask: "How does it stand now?", Options: []prompt.Option{
		{ID: string(evidence.Running), Title: "it runs"}, {ID: string(evidence.Stopped), Title: "it is stopped"},
		{ID: string(evidence.Isolated), Title: "it is isolated: locked off, lines closed, pressure proved zero"},
	}}
	return rigTurn{Prompt: ask, Take: func(a prompt.Answer) rigTurn {
		return prompt.End(rigStep(func() (rigTurn, error) {
			var err error
			t.file, err = t.begin(p, hours, a.One())
			t.fresh = true
			return stop(), err
		}))
	}}
}

// begin writes a new job on a pump, in a file that is not there yet.
func (t *rigTalk) begin(p *rig.Pump, hours, state string) (string, error) {
	words := t.book.Vocabulary()
	words.Pump = p.PumpFile
	day := t.now().Format(evidence.DateForm)
	edits := []record.Edit{record.SetJob(record.JobPump, p.Name), record.SetJob(record.JobDate, day)}
	if hours != "" {
		edits = append(edits, record.SetJob(record.JobHours, hours))
	}
	if p.LastChange().Format(evidence.DateForm) == day {
		edits = append(edits, record.SetJob(record.JobAfterChange, string(evidence.Yes)))
	}
	edits = append(edits, record.SetPump("state", state))
	for {
		path := freeName(filepath.Join(t.dir, rig.JobsFolder, jobName(day, p.Name, unnamedJob)))
		text, _, err := record.Apply(path, nil, words, edits...)
		if err != nil {
			return "", err
		}
		f, err := record.Open(path, words, true)
		if err != nil {
			return "", fileError{err}
		}
		var changed *record.ChangedError
		if len(f.Text()) > 0 {
			continue // somebody took the name
		}
		if err := f.Save(text); errors.As(err, &changed) {
			continue
		} else if err != nil {
			return "", err
		}
		t.wrote(path)
		return path, nil
	}
}

// unnamedJob is the word of a job of which nobody has told a sign yet.
const unnamedJob = "job"

// jobName is what the file of a job is called, without its ending.
func jobName(day, pump, word string) string { return day + "-" + pump + "-" + word }

// signOf is the first sign that was found on a job; "" if none was.
func signOf(k *evidence.Case) string {
	for _, f := range k.Findings {
		if f.Answer == evidence.Present && !f.Measured {
			return f.Sign
		}
	}
	return ""
}

// newPump asks for what a pump's file needs, and writes it. All but its name and its
// kind can be left out.
func (t *rigTalk) newPump(why string) rigTurn {
	p := prompt.Prompt{ID: "pump name", Ask: "A new pump. What is it called?", Entry: &prompt.Entry{}, News: prompt.Lines(prompt.Text, doc.Said(why)...)}
	return rigTurn{Prompt: p, Take: func(a prompt.Answer) rigTurn {
		name := fileName(a.Text)
		switch {
		case !evidence.IsPumpName(name):
			return t.newPump("Small letters, figures and hyphens make the name of its file, like pump-4.")
		case exists(t.pumpFile(name)):
			return t.newPump("There is " + t.pumpFile(name) + " already.")
		}
		return t.kind(pumpAnswers{name: name, called: a.Text}, "")
	}}
}

func (t *rigTalk) pumpFile(name string) string {
	return filepath.Join(t.dir, rig.PumpsFolder, name+".yaml")
}

func exists(path string) bool {
	_, err := os.Lstat(path)
	return err == nil
}

// pumpAnswers is what was said so far of a new pump.
type pumpAnswers struct {
	name, called, action string
	sizes                []record.Edit
}

func (t *rigTalk) kind(p pumpAnswers, why string) rigTurn {
	ask := prompt.Prompt{ID: "kind", Ask: "What kind of pump is it?", News: prompt.Lines(prompt.Text, doc.Said(why)...), Options: []prompt.Option{
		{ID: string(evidence.Triplex), Title: "triplex, single-acting (three cylinders)"}, {ID: string(evidence.Duplex), Title: "duplex, double-acting (two cylinders)"},
	}}
	return rigTurn{Prompt: ask, Take: func(a prompt.Answer) rigTurn {
		p.action, p.sizes = a.One(), nil
		sizes := []pumpSize{{"liner", "How large are its liners inside?"}, {"stroke", "How long is its stroke?"}}
		if p.action == string(evidence.Duplex) {
			sizes = append(sizes, pumpSize{"piston-rod", "How thick are its piston rods?"})
		}
		return t.size(p, sizes)
	}}
}

type pumpSize struct{ key, ask string }

// bareUnits are the units of bare numbers, as they are said.
var bareUnits = map[string]string{"in": "inches", "h": "hours"}

// size asks for the sizes, one after the other, and then for the meter.
func (t *rigTalk) size(p pumpAnswers, left []pumpSize) rigTurn {
	size, entry := pumpSize{"hours", "What does its hour meter show today?"}, prompt.Entry{Of: evidence.Duration, Unit: "h"}
	if len(left) > 0 {
		size, entry = left[0], prompt.Entry{Of: evidence.Length, Unit: "in"}
	}
	ask := prompt.Prompt{ID: size.key, Ask: size.ask + " (a bare number: " + bareUnits[entry.Unit] + ")", Entry: &entry, Options: []prompt.Option{{ID: "unknown", Title: "not known now; it can be written there later", Aside: true}}}
	return rigTurn{Prompt: ask, Take: func(a prompt.Answer) rigTurn {
		next := p
		next.sizes = slices.Clone(p.sizes)
		written := entry.Written(a.Text)
		switch {
		case a.Text == "":
		case len(left) == 0:
			next.sizes = append(next.sizes, record.AddMeter(t.now(), written))
		default:
			next.sizes = append(next.sizes, record.SetPump(size.key, written))
		}
		if len(left) == 0 {
			return prompt.End(rigStep(func() (rigTurn, error) { return t.writePump(next) }))
		}
		return t.size(next, left[1:])
	}}
}

// writePump writes the file of a new pump. What cannot be is asked again.
func (t *rigTalk) writePump(p pumpAnswers) (rigTurn, error) {
	path, words := t.pumpFile(p.name), t.book.Vocabulary()
	edits := []record.Edit{record.SetPump("name", p.called)}
	text, err := record.ApplyPump(path, []byte("pump:\n  action: "+p.action+"\n"), words, append(edits, p.sizes...)...)
	var refused *record.RefusedError
	if errors.As(err, &refused) {
		return t.kind(p, "That cannot be: "+refused.Error()+". Nothing was written; once more."), nil
	}
	if err != nil {
		return stop(), err
	}
	f, err := record.OpenPump(path, words, true)
	if err != nil {
		return stop(), fileError{err}
	}
	var changed *record.ChangedError
	if err := f.Start(append(text, t.canStand()...)); errors.As(err, &changed) {
		return t.newPump("Somebody else has just made " + path + "."), nil
	} else if err != nil {
		return stop(), fileError{err}
	}
	t.wrote(path)
	return t.choose(path + " is written. What else can stand there is in it, behind #.")
}

// canStand is what else can stand in a pump's file, as remarks: names and blanks, no
// figure.
func (t *rigTalk) canStand() []byte {
	var out strings.Builder
	out.WriteString("# What else can stand here; take the # away, and write what is so of this pump.\n" +
		"# Under pump: rotation (forward or reverse), connecting-rod (between the centres of its bearings), cylinders (their names).\n" +
		"#\n# Figures of this pump's manual, read from the manual and from nowhere else:\n# manual:\n")
	for _, limit := range t.book.Limits.List {
		if limit.Value == nil || limit.AsLowAs != nil {
			fmt.Fprintf(&out, "#   %s:   # %s (%s)\n", limit.ID, limit.Title, limit.Dimension)
		}
	}
	out.WriteString("#\n# What is good until a date, and how long parts are expected to last:\n" +
		"# dated:\n#   - {what: , until: }\n# parts:\n#   piston: {expected-life: }\n# shims-on-hand: []\n")
	return []byte(out.String())
}

// nameJob gives a new job its name once a sign is told: it is kept where that name is
// taken or cannot be given.
func (h *heldTalk) nameJob() {
	if !h.unnamed {
		return
	}
	k, err := h.sitting.Case()
	if err != nil || k == nil {
		return
	}
	sign := signOf(k)
	if sign == "" {
		return
	}
	h.unnamed = false
	base := jobName(k.Job.Date.Format(evidence.DateForm), k.Job.Pump, sign)
	path := freeName(filepath.Join(filepath.Dir(h.file), base))
	if h.sitting.Rename(path) == nil {
		h.file = path
	}
}
