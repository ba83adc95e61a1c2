package dialogue

import (
	"errors"
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"strings"

	"telltale/cmd/internal/prompt"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/evidence/rig"
	"telltale/evidence/source"
	"telltale/rules"
)

// Stands is the talk that follows a closed job: what the job changed in what stands
// of its pump is offered to the pump's file, line by line. Nothing is written there
// without a yes. It is not for several goroutines at once.
type Stands struct {
	book     *rules.Book
	job      *evidence.Case
	own      *source.Node // what the job says itself
	file     *record.PumpFile
	answered map[string]bool // offers by their id
	// newLiner: liners of another size went in, so figures of the manual that go with
	// the liner are asked for.
	newLiner bool
	news     []prompt.Line
	late     bool // the last answer came too late
}

// StandsOf begins it over a closed job and its text; in is as of Chosen. The error is that of the job's text
// or of the pump's file.
func StandsOf(book *rules.Book, job *evidence.Case, text []byte, in string) (*Stands, error) {
	file, err := record.OpenPump(in, filepath.Join(filepath.Dir(job.File), "..", rig.PumpsFolder, job.Job.Pump+".yaml"), book.Vocabulary(), false)
	if err != nil {
		return nil, err
	}
	return NewStands(book, job, text, file)
}

// NewStands begins it over a closed job, its text and the file of its pump. The error
// is that of the job's text.
func NewStands(book *rules.Book, job *evidence.Case, text []byte, file *record.PumpFile) (*Stands, error) {
	var ps source.Problems
	own := source.Parse(job.File, text, source.CaseLimits, &ps)
	if err := ps.Err(); err != nil {
		return nil, err
	}
	s := &Stands{book: book, job: job, own: own, file: file, answered: map[string]bool{}}
	if p, err := file.Pump(); err == nil && s.changedSince(p) && (s.linersPutIn() || own.Value("pump").Value(linerPart) != nil) {
		s.news = prompt.Lines(prompt.Text, file.Name()+" tells of a change after this job. What this job changed in sizes is written there by hand, under was:, in order.")
	}
	return s, nil
}

// offer is one thing that can be written into the file of a pump.
type offer struct {
	prompt.Prompt
	// edits are what an answer writes; nil: nothing.
	edits func(prompt.Answer) []record.Edit
}

// Prompt gives what is offered now.
func (s *Stands) Prompt() (prompt.Prompt, error) {
	next, err := s.next()
	if err != nil {
		return prompt.Prompt{}, err
	}
	if next == nil {
		return prompt.Prompt{ID: "over", News: s.news}, nil
	}
	next.News = s.news
	return next.Prompt, nil
}

// Answer takes an answer to it; with a yes it is in the file when it returns. What
// somebody else wrote in between stays: the offers are made anew from the file as it is
// now.
//
// Errors: *prompt.Problem if it is no answer to the prompt, else those of the file.
func (s *Stands) Answer(a prompt.Answer) error {
	next, err := s.next()
	if err != nil {
		return err
	}
	if next == nil {
		return &prompt.Problem{Code: prompt.Other, Text: "Nothing is asked any more."}
	}
	a = a.Clean()
	if problem := next.Check(a); problem != nil {
		return problem
	}
	s.news, s.late = nil, false
	edits := next.edits(a)
	if len(edits) == 0 {
		s.answered[next.ID] = true
		return nil
	}
	var changed *record.ChangedError
	var refused *record.RefusedError
	switch err := s.file.Write(edits...); {
	case errors.As(err, &changed) && changed.Now != nil:
		s.late = true
		s.news = prompt.Lines(prompt.Text, "The pump's file was changed by somebody else in between. It was read again; your last answer was NOT written, please answer again.")
		return s.file.Reread()
	case errors.As(err, &refused):
		s.news = prompt.Lines(prompt.Text, "That does not fit what the pump's file says already: "+refused.Error()+". It was NOT written.")
		return nil
	case err != nil:
		return err
	}
	s.answered[next.ID] = true
	s.newLiner = s.newLiner || next.ID == linerOffer
	return nil
}

// linerOffer is the id of the offer of a new size of the liners.
const linerOffer = "pump liner"

// next is the first offer that was not answered; nil if none is left.
func (s *Stands) next() (*offer, error) {
	p, err := s.file.Pump()
	if err != nil {
		return nil, err
	}
	for _, o := range slices.Concat(s.sizes(p), s.withLiner(p), s.figures(p), s.meter(p)) {
		if !s.answered[o.ID] {
			return &o, nil
		}
	}
	return nil, nil
}

// sizes are those of the pump that the job says and its file has not, or otherwise;
// and of new liners of which the job does not say the size.
func (s *Stands) sizes(p *evidence.PumpFile) (out []offer) {
	for _, size := range []struct {
		key, title string
		job, file  *evidence.Quantity
		changes    bool // another one goes in; else the file was wrong
	}{
		{"liner", "the liners are", s.job.Pump.Liner, p.Pump.Liner, true},
		{"stroke", "the stroke is", s.job.Pump.Stroke, p.Pump.Stroke, false},
		{"piston-rod", "the piston rods are", s.job.Pump.PistonRod, p.Pump.PistonRod, true},
		{"connecting-rod", "the connecting rods are", s.job.Pump.ConnectingRod, p.Pump.ConnectingRod, false},
	} {
		said := s.own.Value("pump").Value(size.key)
		switch {
		case size.changes && s.changedSince(p):
			// what stood until then stands before a later change
		case said != nil && size.job != nil && (size.file == nil || size.file.SI != size.job.SI):
			out = append(out, s.line("pump "+size.key, fmt.Sprintf("%s %s%s", size.title, size.job.Written, itSays(size.file)),
				s.was(size.changes, "pump", size.key, size.file, record.SetPump(size.key, size.job.Written))...))
		case said == nil && size.key == linerPart && s.linersPutIn():
			out = append(out, s.newLiners(p))
		}
	}
	return out
}

// linerPart is the part of the rulebook of which a pump has a size.
const linerPart = "liner"

func (s *Stands) linersPutIn() bool {
	return slices.ContainsFunc(s.job.Changed, func(c evidence.NewPart) bool { return c.Part == linerPart })
}

// changedSince says whether the file tells of a change behind the day of the job.
func (s *Stands) changedSince(p *evidence.PumpFile) bool {
	return p.LastChange().After(s.job.Job.Date)
}

// was notes what stood before, where there was something and it was right then.
func (s *Stands) was(changes bool, of, key string, before *evidence.Quantity, now record.Edit) []record.Edit {
	if before == nil || !changes {
		return []record.Edit{now}
	}
	return []record.Edit{record.Was(s.job.Job.Date, of, key, before.Written), now}
}

func itSays(q *evidence.Quantity) string {
	if q == nil {
		return " (the file does not say)"
	}
	return " (the file says " + q.Written + ")"
}

// line offers one line for a yes.
func (s *Stands) line(id, what string, edits ...record.Edit) offer {
	return offer{
		prompt.Prompt{
			ID: id, Ask: s.file.Name() + ": " + what + ". Write it there?", Leave: leave,
			Options: []prompt.Option{option("write", "yes, write it"), option("no", "no")},
		},
		func(a prompt.Answer) []record.Edit {
			if a.One() == "write" {
				return edits
			}
			return nil
		},
	}
}

// newLiners asks what size new liners are.
func (s *Stands) newLiners(p *evidence.PumpFile) offer {
	same, before := "not known; nothing is written", p.Pump.Liner
	if before != nil {
		same = "the same, " + before.Written
	}
	entry := prompt.Entry{Of: evidence.Length, Unit: "in"}
	return offer{
		prompt.Prompt{
			ID: linerOffer, Ask: "New liners were put in. What size are they? (a bare number: inches; it is written into " + s.file.Name() + ")", Leave: leave,
			Entry: &entry, Options: []prompt.Option{aside("yes", same)},
		},
		func(a prompt.Answer) []record.Edit {
			size, _ := entry.Read(a.Text)
			if a.Text == "" || before != nil && before.In("in") == size {
				return nil
			}
			return s.was(true, "pump", linerPart, before, record.SetPump(linerPart, entry.Written(a.Text)))
		},
	}
}

// withLiner asks for those figures of the manual that go with the liner once another
// size is in: what the pump may run at, what its relief valve is set to. No figure is offered; it stands in the manual.
func (s *Stands) withLiner(p *evidence.PumpFile) (out []offer) {
	day := s.job.Job.Date
	if !s.newLiner && !p.Changed(day, "pump", linerPart) { // said in a talk that was broken off
		return nil
	}
	for _, id := range slices.Sorted(maps.Keys(p.Manual)) {
		limit, before := s.book.Limits.Get(id), p.Manual[id]
		if limit == nil || !limit.WithLiner || p.Changed(day, "manual", id) {
			continue
		}
		was := record.Was(s.job.Job.Date, "manual", id, before.Written)
		if s.own.Value("manual").Value(id) != nil {
			if now := s.job.Manual[id]; now.SI != before.SI {
				out = append(out, s.line("liner "+id, fmt.Sprintf("by the manual, with the new liners, %s: %s%s", limit.Title, now.Written, itSays(&before)), was, record.SetManual(id, now.Written)))
			}
			continue
		}
		entry := prompt.Entry{Of: limit.Dimension, Unit: unitOf(before)}
		out = append(out, offer{
			prompt.Prompt{
				ID: "liner " + id, Leave: leave,
				Ask:     fmt.Sprintf("%s: %s in the file, with the old liners. What does the manual say for the new ones? (a bare number: %s)", limit.Title, before.Written, entry.Unit),
				Entry:   &entry,
				Options: []prompt.Option{aside("yes", "the same, by the manual"), aside("unknown", "nobody has looked; it is taken out till then")},
			},
			func(a prompt.Answer) []record.Edit {
				switch {
				case a.One() == "unknown":
					return []record.Edit{was, record.SetManual(id, "")}
				case a.Text != "":
					return []record.Edit{was, record.SetManual(id, entry.Written(a.Text))}
				}
				return []record.Edit{was} // it was looked up: nobody is asked again
			},
		})
	}
	return out
}

// unitOf is the unit in which a figure is written.
func unitOf(q evidence.Quantity) string {
	_, unit, _ := strings.Cut(q.Written, " ")
	names := evidence.UnitNames(q.Dimension)
	if slices.Contains(names, unit) {
		return unit
	}
	return names[0]
}

// figures are those of the manual that the job says and the file has not.
func (s *Stands) figures(p *evidence.PumpFile) (out []offer) {
	manual := s.own.Value("manual")
	if manual == nil {
		return nil
	}
	for _, pair := range manual.Pairs {
		id := pair.Key.Text
		figure, said := s.job.Manual[id]
		if _, there := p.Manual[id]; there || !said || s.book.Limits.Get(id) == nil {
			continue
		}
		out = append(out, s.line("manual "+id, fmt.Sprintf("by the manual, %s: %s (the file does not say)", s.book.Limits.Get(id).Title, figure.Written), record.SetManual(id, figure.Written)))
	}
	return out
}

// meter is what the meter showed on the job, where it goes behind what the file has.
func (s *Stands) meter(p *evidence.PumpFile) []offer {
	job := s.job.Job
	if job.Hours == nil {
		return nil
	}
	if n := len(p.Meter); n > 0 {
		last := p.Meter[n-1]
		shown := last.Hours
		if last.NewMeter != nil {
			shown = *last.NewMeter
		}
		if !last.Date.Before(job.Date) || shown.SI > job.Hours.SI {
			return nil
		}
	}
	day := job.Date.Format(evidence.DateForm)
	return []offer{s.line("hours", fmt.Sprintf("its meter showed %s on %s", job.Hours.Written, day), record.AddMeter(job.Date, job.Hours.Written))}
}
