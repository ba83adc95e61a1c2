package dialogue

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
	"telltale/engine/chances"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/evidence/rig"
	"telltale/rules"
)

// Rig is the talk that comes before a Work, in the folder of a rig: which open job it
// is, a new job on a pump, or a new pump. Nothing that the file of a pump knows is
// asked. It is not for several goroutines at once.
type Rig struct {
	book    *rules.Book
	dir     string
	now     func() time.Time
	read    func() (*rig.Rig, error)
	rig     *rig.Rig
	turn    rigTurn
	before  []rigTurn
	chosen  Chosen
	written []string
}

type rigTurn = prompt.Turn[rigStep]

// rigStep is what an answer comes to: it gives what is asked next, or an end of the
// talk without a prompt.
type rigStep func() (rigTurn, error)

// NewRig begins it in a folder, which may lack what makes it a rig: that is then made,
// on a yes. read reads it; nil is rig.Read. The error is that of the folder.
func NewRig(book *rules.Book, dir string, now func() time.Time, read func() (*rig.Rig, error)) (*Rig, error) {
	t := &Rig{book: book, dir: dir, now: now, read: read}
	if read == nil {
		t.read = func() (*rig.Rig, error) { return rig.Read(dir, book.Vocabulary()) }
	}
	var missing []string
	for _, name := range []string{rig.PumpsFolder, rig.JobsFolder} {
		if info, err := os.Stat(filepath.Join(dir, name)); err != nil || !info.IsDir() {
			missing = append(missing, name)
		}
	}
	if len(missing) > 0 {
		t.turn = t.makeFolders(missing)
		return t, nil
	}
	var err error
	t.turn, err = t.choose("")
	return t, err
}

// Chosen is the job that was chosen or begun.
func (t *Rig) Chosen() Chosen { return t.chosen }

// Written are the files and folders that were made, in order.
func (t *Rig) Written() []string { return t.written }

// Prompt gives what is asked now.
func (t *Rig) Prompt() (prompt.Prompt, error) {
	p := t.turn.Prompt
	if p.Over() {
		return p, nil
	}
	p.Leave = leave
	if len(t.before) > 0 {
		p.Back = backOne
	}
	return p, nil
}

// Answer takes an answer to it. What it writes is written when it returns nil.
//
// Errors: *prompt.Problem if it is no answer to the prompt, else those of the files.
func (t *Rig) Answer(a prompt.Answer) error {
	p, err := t.Prompt()
	if err != nil {
		return err
	}
	a = a.Clean()
	if problem := p.Check(a); problem != nil {
		return problem
	}
	if n := len(t.before); a.One() == prompt.Back {
		t.turn, t.before = t.before[n-1], t.before[:n-1]
		return nil
	}
	next := t.turn.Take(a)
	if next.Take != nil {
		t.before, t.turn = append(t.before, t.turn), next
		return nil
	}
	if next, err = next.End(); err != nil {
		return err
	}
	t.turn, t.before = next, nil
	return nil
}

// chosenAll ends the talk.
func chosenAll() rigTurn { return rigTurn{Prompt: prompt.Prompt{ID: "over"}} }

// makeFolders makes what a rig needs, on a yes.
func (t *Rig) makeFolders(missing []string) rigTurn {
	what := strings.Join(missing, " and ")
	p := prompt.Prompt{
		ID: "make", Ask: fmt.Sprintf("%s has no %s in it, which the folder of a rig has. Make it a rig: make %s?", t.dir, what, what),
		Options: []prompt.Option{{ID: "yes", Title: "yes, make it"}, {ID: "no", Title: "no"}},
	}
	return rigTurn{Prompt: p, Take: func(a prompt.Answer) rigTurn {
		return prompt.End(rigStep(func() (rigTurn, error) {
			if a.One() == "no" {
				return chosenAll(), nil
			}
			for _, name := range missing {
				if err := os.Mkdir(filepath.Join(t.dir, name), 0o755); err != nil && !errors.Is(err, os.ErrExist) {
					return chosenAll(), err
				}
				t.written = append(t.written, filepath.Join(t.dir, name))
			}
			return t.choose("")
		}))
	}}
}

// choose offers the open jobs of the rig, the youngest first, a new one on each pump,
// and a new pump.
func (t *Rig) choose(news string) (rigTurn, error) { return t.chooseFrom(0, news) }

// chooseFrom leaves the youngest out.
func (t *Rig) chooseFrom(from int, news string) (rigTurn, error) {
	var err error
	if t.rig, err = t.read(); err != nil {
		return chosenAll(), err
	}
	if len(t.rig.Pumps)+len(t.rig.Unread) == 0 {
		return t.newPump(""), nil
	}
	p := prompt.Prompt{ID: "rig", Ask: "Which job?", News: prompt.Lines(prompt.Text, doc.Said(news)...)}
	for i, u := range t.rig.Unread {
		if i == mostUnread {
			p.News = append(p.News, prompt.Line{Kind: prompt.Text, Text: fmt.Sprintf("Not counted besides: %d files. telltale rig %s names each.", len(t.rig.Unread)-i, t.dir)})
			break
		}
		why, _, _ := strings.Cut(u.Err.Error(), "\n")
		p.News = append(p.News, prompt.Line{Kind: prompt.Text, Text: "Not counted: " + u.Path + ": " + why})
	}
	var open []*evidence.Case
	for i := range t.rig.Pumps {
		open = append(open, notOver(&t.rig.Pumps[i])...)
	}
	slices.SortStableFunc(open, func(a, b *evidence.Case) int {
		return cmp.Or(b.Job.Date.Compare(a.Job.Date), cmp.Compare(a.File, b.File))
	})
	open = open[min(len(open), from):]
	if from > 0 {
		p.ID, p.Ask, p.News = fmt.Sprint("older jobs ", from), "Which older job?", nil
	}
	for _, k := range open[:min(len(open), mostJobs)] {
		p.Options = append(p.Options, prompt.Option{ID: k.File, Title: k.Job.Date.Format(evidence.DateForm) + ", " + jobLine(t.book, k)})
	}
	if len(open) > mostJobs {
		p.Options = append(p.Options, older)
	}
	for i := range t.rig.Pumps {
		p.Options = append(p.Options, prompt.Option{ID: newJob + " " + t.rig.Pumps[i].Name, Title: "a new job on " + t.rig.Pumps[i].Pump.Name})
	}
	p.Options = append(p.Options, prompt.Option{ID: newPumpID, Title: "a new pump"})
	return rigTurn{Prompt: p, Take: func(a prompt.Answer) rigTurn {
		name, isNew := strings.CutPrefix(a.One(), newJob+" ")
		switch {
		case a.One() == olderJobs:
			next, err := t.chooseFrom(from+mostJobs, "")
			if err != nil {
				return prompt.End(rigStep(func() (rigTurn, error) { return chosenAll(), err }))
			}
			return next
		case a.One() == newPumpID:
			return t.newPump("")
		case isNew:
			return t.beside(t.rig.Named(name))
		}
		return t.goOn(a.One())
	}}, nil
}

// notOver are the jobs on a pump that are open, or closed with something that stands open
// or locked all the same.
func notOver(p *rig.Pump) []*evidence.Case {
	return doc.Only(p.Jobs, func(k *evidence.Case) bool { return !k.Job.IsClosed() || k.LeftStanding() })
}

// beside says which jobs on a pump are not over before a new one is begun, and offers to go
// on with one of them.
func (t *Rig) beside(p *rig.Pump) rigTurn {
	open := notOver(p)
	if len(open) == 0 {
		return t.hours(p, "")
	}
	slices.Reverse(open)
	ask := prompt.Prompt{ID: "beside " + p.Name, Ask: "A job on " + p.Pump.Name + " is open already. Go on with that one?"}
	for _, o := range evidence.JobsThatMayHold(open) {
		if o.Holds() {
			ask.Body = append(ask.Body, prompt.Line{Kind: prompt.Text, Text: "DANGER: by another job on this pump somebody may be at work on it. " + chances.OtherSays(t.book, &o) +
				" Ask whoever leads it, before anything is started, bumped, locked or opened."})
		}
	}
	for _, k := range open[:min(len(open), mostJobs)] {
		ask.Options = append(ask.Options, prompt.Option{ID: k.File, Title: "go on with " + k.Job.Date.Format(evidence.DateForm) + ", " + jobLine(t.book, k)})
	}
	ask.Options = append(ask.Options, prompt.Option{ID: newJob, Title: "a new job all the same: it is another trouble"})
	return rigTurn{Prompt: ask, Take: func(a prompt.Answer) rigTurn {
		if a.One() == newJob {
			return t.hours(p, "")
		}
		return t.goOn(a.One())
	}}
}

// goOn ends the talk with a job that is there.
func (t *Rig) goOn(file string) rigTurn {
	return prompt.End(rigStep(func() (rigTurn, error) {
		t.chosen = Chosen{File: file, In: t.dir}
		return chosenAll(), nil
	}))
}

// mostUnread is how many files that cannot be read are told one by one.
const mostUnread = 10

// newPumpID is the option of a pump that has no file yet. No pump's file can be called
// so, nor a job.
const newPumpID = "new pump"

// hours asks what the meter shows. What cannot be is asked again.
func (t *Rig) hours(p *rig.Pump, why string) rigTurn {
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
func (t *Rig) stands(p *rig.Pump, hours string) rigTurn {
	ask := prompt.Prompt{ID: "state", Ask: "How does it stand now?", Options: []prompt.Option{
		{ID: string(evidence.Running), Title: "it runs"}, {ID: string(evidence.Stopped), Title: "it is stopped"},
		{ID: string(evidence.Isolated), Title: "it is isolated: locked off, lines closed, pressure proved zero"},
	}}
	return rigTurn{Prompt: ask, Take: func(a prompt.Answer) rigTurn {
		return prompt.End(rigStep(func() (rigTurn, error) {
			path, err := t.begin(p, hours, a.One())
			t.chosen = Chosen{File: path, Fresh: true, In: t.dir}
			return chosenAll(), err
		}))
	}}
}

// begin writes a new job on a pump, in a file that is not there yet.
func (t *Rig) begin(p *rig.Pump, hours, state string) (string, error) {
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
		f, err := record.Open(t.dir, path, words, true)
		if err != nil {
			return "", err
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
		t.written = append(t.written, path)
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
