package dialogue

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/pages"
	"telltale/cmd/internal/prompt"
	"telltale/cmd/internal/words"
	"telltale/engine/interview"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/rules"
)

// A job of a rig is closed when all is done: what the pump's history needs is asked,
// and no more.

// closable adds to the end of a talk over an open job that it can be closed, or why
// it cannot be yet.
func (r *round) closable(m *interview.Move, p *prompt.Prompt) {
	if r.k.Job.Pump == "" { // a case that stands alone is not closed
		p.Body = append(p.Body, itemised("", pages.StillOpen(r.Book, r.k))...)
		p.Options = append(p.Options, r.goneThrough()...)
		return
	}
	if r.k.Job.IsClosed() {
		return
	}
	why := pages.NotToClose(r.Book, m.Report, r.k)
	p.Body = append(p.Body, itemised(notClosed, why)...)
	p.Options = append(p.Options, r.goneThrough()...)
	if len(why) == 0 {
		p.Options = []prompt.Option{option("close", "close the job"), option("all", "that is all; the job stays open"), option("report", "report something that was noticed")}
	}
}

// notClosed is before each reason why a job cannot be closed.
const notClosed = "Not to be closed yet: "

// itemised makes entries of a list of some texts.
func itemised(lead string, texts []string) (out []prompt.Line) {
	for _, t := range texts {
		out = append(out, prompt.Line{Kind: prompt.Item, Text: words.Capital(lead + t + ".")})
	}
	return out
}

// goneThroughID is the id of the answer that the way back to service was gone to its end.
const goneThroughID = "gone-through"

// goneThrough offers to say of a running pump that each step back to service was done that
// its case does not have.
func (r *round) goneThrough() []prompt.Option {
	if r.k.Pump.State != evidence.Running || len(r.k.Pump.ClosedAgain) == 0 {
		return nil
	}
	return []prompt.Option{option(goneThroughID, "each step that is owed was done, by somebody who says so; write it down")}
}

// wentThrough writes that, with what was owed.
func (r *round) wentThrough() turn {
	return write(record.BackInService(), r.log(saidLog+"done: "+strings.Join(pages.Owed(r.Book, r.k), "; ")))
}

// closingJob is what was said so far of a job that is being closed.
type closingJob struct {
	found  string        // in the crew's own words; "" where a look has proved it
	judged []evidence.At // what the crew takes for it
	did    string        // what was put right, in its own words
	hours  string        // what the meter showed, where the job did not say
	parts  []evidence.NewPart
	shims  []record.Edit
}

// closeJob asks for what is still needed, and closes the job.
func (r *round) closeJob(c closingJob) turn {
	offered := r.partsOfCauses(slices.Concat(r.k.Corrected, c.judged))
	if r.k.Job.Hours != nil {
		return r.partsPutIn(c, offered, nil)
	}
	return quantity("job hours", "What did its hour meter show on this job?", "h", evidence.Duration, "nobody read it; then no age of a part is counted", func(hours string) turn {
		c.hours = hours
		return r.partsPutIn(c, offered, nil)
	})
}

// quantity asks for a figure; whoever does not know it says so.
func quantity(id, question, unit string, of evidence.Dimension, unknown string, take func(text string) turn) turn {
	p := prompt.Prompt{
		ID: id, Ask: question, Back: backOne, Leave: leave,
		Entry:   &prompt.Entry{Of: of, Unit: unit},
		Options: []prompt.Option{aside("unknown", unknown)},
	}
	return turn{Prompt: p, Take: func(a prompt.Answer) turn { return take(p.Entry.Written(a.Text)) }}
}

// partsOfCauses are the parts that causes take, at their places; what the job says
// already is left out.
func (r *round) partsOfCauses(causes []evidence.At) (out []evidence.NewPart) {
	for _, at := range causes {
		for _, need := range r.Book.Causes.Get(at.ID).Parts {
			for _, p := range r.placesOf(need.Part, at.Place) {
				out = r.offered(out, need.Part, p)
			}
		}
	}
	return out
}

// offered adds a part at a place to those that are offered, once.
func (r *round) offered(all []evidence.NewPart, part string, at evidence.Place) []evidence.NewPart {
	same := func(p evidence.NewPart) bool { return p.Part == part && p.Place == at }
	if slices.ContainsFunc(all, same) || slices.ContainsFunc(r.k.Changed, same) {
		return all
	}
	return append(all, evidence.NewPart{Part: part, Place: at})
}

// placesOf are the places of a part that something touches; none: this pump has no
// such part, or it is told by its thickness.
func (r *round) placesOf(id string, touched evidence.Place) []evidence.Place {
	part := r.Book.Parts.Get(id)
	if r.shims(id) || !part.When.HoldsForPump(&r.k.Pump) {
		return nil
	}
	return r.k.Pump.Under(touched, part.Level)
}

// shims says whether a part is what goes under a lower guide where it wears: of it a
// job tells how thick, not that it is new.
func (r *round) shims(part string) bool {
	return slices.ContainsFunc(r.Book.Trends.List, func(t *rules.Trend) bool { return t.Shims && t.AtLimit == part })
}

func (r *round) partTitle(p evidence.NewPart) string {
	return words.Titled(r.Book.Parts.Get(p.Part).Title, p.Place)
}

// partsPutIn asks which parts were put in new, and others beside those offered.
func (r *round) partsPutIn(c closingJob, offered, others []evidence.NewPart) turn {
	p := prompt.Prompt{ID: fmt.Sprintf("parts %d", len(others)), Ask: "Which parts were put in new on this job?"}
	for _, o := range others {
		p.Body = append(p.Body, prompt.Line{Kind: prompt.Item, Text: "put in new: " + r.partTitle(o)})
	}
	for i, o := range offered {
		p.Options = append(p.Options, prompt.Option{ID: "part " + strconv.Itoa(i+1), Title: r.partTitle(o), Together: true})
	}
	p.Options = append(p.Options, aside("none", "none of these"), aside("other", "another part"))
	return several(p, func(ids []string) turn {
		if ids[0] == "other" {
			return r.otherPart(func(more []evidence.NewPart) turn {
				for _, n := range more {
					others = r.offered(others, n.Part, n.Place)
				}
				left := slices.DeleteFunc(slices.Clone(offered), func(o evidence.NewPart) bool { return slices.Contains(others, o) })
				return r.partsPutIn(c, left, others)
			})
		}
		c.parts = slices.Clone(others)
		for i, o := range offered {
			if slices.Contains(ids, "part "+strconv.Itoa(i+1)) {
				c.parts = append(c.parts, o)
			}
		}
		if len(c.parts) == 0 {
			return r.shimsPutIn(c, r.shimmedCylinders(c))
		}
		return r.stillGood(c)
	})
}

// otherPart asks for a part of all that the pump has, and where it was put in.
func (r *round) otherPart(take func([]evidence.NewPart) turn) turn {
	var all []prompt.Option
	for _, part := range r.Book.Parts.List {
		if len(r.placesOf(part.ID, evidence.Place{})) > 0 {
			all = append(all, option(part.ID, part.Title))
		}
	}
	return oneOfMany("part", "", all, func(id string) turn { return r.wherePart(id, take) })
}

// oneOfMany asks for one of many things of a kind. Words narrow the list.
func oneOfMany(kind, words string, all []prompt.Option, take func(id string) turn) turn {
	p := prompt.Prompt{ID: "which " + kind + " " + words, Ask: "Which " + kind + "?", Back: backOne, Leave: leave, Entry: &prompt.Entry{Hint: "a word of it"}}
	p.Options = doc.Only(all, func(o prompt.Option) bool { return prompt.Holds(o.Title, words) })
	if len(p.Options) == 0 && words != "" {
		t := oneOfMany(kind, "", all, take)
		t.News = prompt.Lines(prompt.Text, "No "+kind+" has a word of "+strconv.Quote(words)+".")
		return t
	}
	return turn{Prompt: p, Take: func(a prompt.Answer) turn {
		if a.Text != "" {
			return oneOfMany(kind, a.Text, all, take)
		}
		return take(a.One())
	}}
}

// wherePart asks at which places a part was put in.
func (r *round) wherePart(id string, take func([]evidence.NewPart) turn) turn {
	places := r.placesOf(id, evidence.Place{})
	if len(places) == 1 {
		return take([]evidence.NewPart{{Part: id, Place: places[0]}})
	}
	where := prompt.Prompt{ID: "where " + id, Ask: "Where?"}
	for _, at := range places {
		where.Options = append(where.Options, prompt.Option{ID: "at " + at.String(), Title: words.Place(at), Together: true, About: &about("place", "", at)[0]})
	}
	return several(where, func(ids []string) turn {
		var out []evidence.NewPart
		for _, at := range places {
			if slices.Contains(ids, "at "+at.String()) {
				out = append(out, evidence.NewPart{Part: id, Place: at})
			}
		}
		return take(out)
	})
}

// stillGood asks which of the old parts were not worn: they count as changed in time,
// not as failed.
func (r *round) stillGood(c closingJob) turn {
	p := prompt.Prompt{ID: "still good", Ask: "Was an old one of these still good?"}
	for i, part := range c.parts {
		p.Options = append(p.Options, prompt.Option{ID: "part " + strconv.Itoa(i+1), Title: r.partTitle(part), Together: true})
	}
	p.Options = append(p.Options, aside("none", "none of them"))
	return several(p, func(ids []string) turn {
		parts := slices.Clone(c.parts)
		for i := range parts {
			parts[i].StillGood = slices.Contains(ids, "part "+strconv.Itoa(i+1))
		}
		c.parts = parts
		return r.shimsPutIn(c, r.shimmedCylinders(c))
	})
}

// shimmedCylinders are those whose guide was corrected or judged to be it, and of which
// the job says no shims.
func (r *round) shimmedCylinders(c closingJob) (out []evidence.Place) {
	for _, at := range slices.Concat(r.k.Corrected, c.judged) {
		for _, need := range r.Book.Causes.Get(at.ID).Parts {
			if !r.shims(need.Part) {
				continue
			}
			for _, p := range r.k.Pump.Under(at.Place, evidence.OfCylinder) {
				if !slices.Contains(out, p) && !slices.ContainsFunc(r.k.Shims, func(s evidence.Shimmed) bool { return s.Place == p }) {
					out = append(out, p)
				}
			}
		}
	}
	return out
}

// shimsPutIn asks what went under the lower guides, one after the other.
func (r *round) shimsPutIn(c closingJob, at []evidence.Place) turn {
	if len(at) == 0 {
		return r.closeNow(c)
	}
	cylinder := words.Place(at[0])
	then := func(more ...record.Edit) turn {
		c.shims = append(slices.Clip(c.shims), more...)
		return r.shimsPutIn(c, at[1:])
	}
	p := prompt.Prompt{
		ID: "shims " + at[0].String(), Ask: "Shims under the lower guide of " + cylinder + ": how thick, together? (thou; taken out: with a minus)", Back: backOne, Leave: leave,
		Entry: &prompt.Entry{Of: evidence.Length, Unit: thou},
		Options: []prompt.Option{
			aside("none", "none were put in or taken out"), aside("ends", "not the same at both ends"),
		},
	}
	return turn{Prompt: p, Take: func(a prompt.Answer) turn {
		switch a.One() {
		case "none":
			return then()
		case "ends":
			return shimEnd(at[0], "rear", func(rear string) turn {
				return shimEnd(at[0], "front", func(front string) turn { return then(shimsOf(at[0], rear, front)...) })
			})
		}
		return then(shimsOf(at[0], a.Text, a.Text)...)
	}}
}

const thou = "thou"

func shimEnd(at evidence.Place, end string, take func(string) turn) turn {
	p := prompt.Prompt{
		ID: "shims " + at.String() + " " + end, Ask: "At the " + end + " of " + words.Place(at) + ": how thick? (thou; taken out: with a minus; nothing: 0)", Back: backOne, Leave: leave,
		Entry: &prompt.Entry{Of: evidence.Length, Unit: thou},
	}
	return turn{Prompt: p, Take: func(a prompt.Answer) turn { return take(a.Text) }}
}

// shimsOf is the line of what was put in and taken out at the ends of a guide; none
// where it is nothing.
func shimsOf(at evidence.Place, rear, front string) []record.Edit {
	in, out := &record.Pack{Rear: "0 thou", Front: "0 thou"}, &record.Pack{Rear: "0 thou", Front: "0 thou"}
	anyIn, anyOut := false, false
	for _, end := range []struct {
		text    string
		in, out *string
	}{{rear, &in.Rear, &out.Rear}, {front, &in.Front, &out.Front}} {
		entry := prompt.Entry{Of: evidence.Length, Unit: thou}
		figure, _ := entry.Read(end.text) // the prompt has checked it
		written := entry.Written(strings.TrimLeft(end.text, "-−+ "))
		switch {
		case figure > 0:
			*end.in, anyIn = written, true
		case figure < 0:
			*end.out, anyOut = written, true
		}
	}
	if !anyIn {
		in = nil
	}
	if !anyOut {
		out = nil
	}
	if in == nil && out == nil {
		return nil
	}
	return []record.Edit{record.Shims(at, in, out)}
}

// closeNow writes what was said and closes the job. Without hours no part can be
// counted: then the log has them.
func (r *round) closeNow(c closingJob) turn {
	edits := c.edits(r)
	var news []prompt.Line
	if c.hours != "" {
		edits = append(edits, record.SetJob(record.JobHours, c.hours))
	}
	var uncounted []string
	for _, p := range c.parts {
		if r.k.Job.Hours == nil && c.hours == "" {
			uncounted = append(uncounted, r.partTitle(p))
			continue
		}
		edits = append(edits, record.PutInNew(p.Part, p.Place, p.StillGood))
	}
	if len(uncounted) > 0 {
		edits = append(edits, r.log("put in new, meter not read: "+strings.Join(uncounted, "; ")))
		news = prompt.Lines(prompt.Text, "Without the hours the new parts are in the log only: no age is counted from them.")
	}
	edits = append(append(edits, c.shims...), record.SetJob(record.JobClosed, r.today()), r.log("closed the job"))
	return prompt.End(end{edits: edits, news: news, note: func(s *State) { s.Over = true }, final: true})
}

// today is the day on which a job is closed: not before it was begun, whatever the
// clock says.
func (r *round) today() string {
	day := r.Now().Format(evidence.DateForm)
	return max(day, r.k.Job.Date.Format(evidence.DateForm))
}

// closedJob says that a job is closed, and offers to open it again.
func (r *round) closedJob() turn {
	p := prompt.Prompt{
		ID: "closed", Body: prompt.Lines(prompt.Text, "This job was closed on "+r.k.Job.Closed.Format(evidence.DateForm)+"."), Ask: "What now?",
		Options: []prompt.Option{option("leave", "leave it closed"), option("again", "open it again: it is not over")},
	}
	if r.k.LeftStanding() {
		p.Body = append(p.Body, prompt.Line{Kind: prompt.Text, Text: pages.ClosedTooSoon(r.Book, r.k)})
		p.Options = []prompt.Option{option("again", "open it again: it is not over"), option("leave", "leave it closed")}
	}
	return ask(p, func(id string) turn {
		if id == "leave" {
			return over()
		}
		return prompt.End(end{edits: []record.Edit{record.SetJob(record.JobClosed, ""), r.log("opened the job again")}, final: true})
	})
}
