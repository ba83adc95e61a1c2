package dialogue

import (
	"cmp"
	"slices"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/pages"
	"telltale/cmd/internal/prompt"
	"telltale/cmd/internal/words"
	"telltale/engine"
	"telltale/engine/interview"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/rules"
)

// first is the turn that the case as it stands leads to.
func (r *round) first() turn {
	if local := r.Book.Local; local != nil {
		r.once("local", prompt.Lines(prompt.Text, "The rulebook is changed by the "+local.String()+". What comes from it is marked.")...)
	}
	if r.k == nil {
		return r.begin()
	}
	if r.k.Job.IsClosed() {
		return r.closedJob()
	}
	m, err := r.next()
	switch {
	case m.Kind == interview.Stop: // a stop condition is read out before anything else
		return r.readStop(&m)
	case !r.s.Begun:
		if m.First {
			r.sayHaste(m.Report)
		}
		return r.takeUp(m.Report)
	case r.asksAnew(&m):
		return r.anew(r.s.Follow[0])
	case err != nil && m.Kind == "":
		return r.cannotWeigh(err)
	case len(r.s.Sitting.Returning) > 0 && len(m.Returns) == 0 && m.Kind != interview.Taken:
		return r.breakOff()
	}
	if err == nil && m.Kind != interview.Notice && m.Kind != interview.Taken { // whether it must stop is what Taken asks
		r.sayHaste(m.Report)
	}
	if r.k.Pump.State == evidence.Running && len(r.k.Pump.ClosedAgain) > 0 && m.Kind != interview.Done { // said to run, by whoever did not go through it here
		r.once("owed", itemised("the pump is said to run; ", pages.Owed(r.Book, r.k))...)
	}
	if m.Kind != interview.Leave {
		r.once("ratings", prompt.Lines(prompt.Text, pages.RatingLines(m.Report, false)...)...)
	}
	if len(r.s.Follow) > 0 && !m.First && m.Kind != interview.Leave && m.Kind != interview.Taken {
		return r.follow(r.s.Follow[0])
	}
	if r.asksGauges(&m) {
		return r.gauges()
	}
	return r.move(&m)
}

// move puts one move of the interview to the crew.
func (r *round) move(m *interview.Move) turn {
	switch m.Kind {
	case interview.Leave:
		return r.waiting(m)
	case interview.Held:
		return r.held(m)
	case interview.Taken:
		return r.taken(m)
	case interview.Which:
		return r.which(m)
	case interview.Straight:
		return r.straight(m)
	case interview.Notice:
		if len(r.k.Findings) > 0 {
			return r.tell("Nothing that is wrong is written yet. Tell what is wrong, in your own words.", "says that nothing was noticed")
		}
		return r.tell("Tell what you saw, in your own words.", "says that nothing was noticed")
	case interview.Lately:
		if r.toldUntouched() {
			return nothingLately()
		}
		return r.lately()
	case interview.Ask:
		if len(m.Roots) > 0 {
			r.once("roots", r.toldRoots(m.Cause, m.Roots)...)
		}
		return counted(r.answer(m.Sign, m.Places, m))
	case interview.Do:
		return r.step(m)
	case interview.Repair:
		return r.repair(m)
	case interview.LookAgain:
		return r.lookAgain(m)
	case interview.Close:
		return r.closing(m)
	case interview.Done:
		return r.done(m)
	case interview.Root:
		return r.root(m)
	}
	return r.nothingLeft(m)
}

// once says something unless that is what was said of it last.
func (r *round) once(name string, lines ...prompt.Line) {
	var all []string
	for _, l := range lines {
		all = append(all, l.Text)
	}
	now := strings.Join(all, "\n")
	if r.s.Told[name] != now {
		r.told[name] = now
		r.news = append(r.news, lines...)
	}
}

// sayHaste says how long it can wait, before the first question and whenever
// that is another verdict than it was.
func (r *round) sayHaste(report *engine.Report) {
	if report != nil && report.Haste != nil && report.Haste.Says != r.s.Told["haste"] {
		r.told["haste"] = report.Haste.Says
		r.news = append(r.news, prompt.Line{Kind: prompt.Block, Text: strings.TrimSpace(pages.HasteLine(report.Haste) + " " + pages.UntilItStands(report))})
	}
}

// What leads back and out.
const (
	leave     = "leave"
	backOne   = "back"
	backWrong = "back: the last answer was wrong"
	backBare  = "back, write nothing"
)

// ask puts a prompt of which one option is chosen.
func ask(p prompt.Prompt, take func(id string) turn) turn {
	return several(p, func(ids []string) turn {
		return take(ids[0])
	})
}

// several puts a prompt of which options are chosen, those that stand alone by
// themselves.
func several(p prompt.Prompt, take func(ids []string) turn) turn {
	p.Back, p.Leave = cmp.Or(p.Back, backOne), leave
	return turn{Prompt: p, Take: func(a prompt.Answer) turn { return take(a.Chosen) }}
}

// entry asks for something in somebody's own words.
func entry(id, question, blank string, take func(text string) turn) turn {
	p := prompt.Prompt{ID: id, Ask: question, Back: backOne, Leave: leave, Entry: &prompt.Entry{Blank: blank}}
	return turn{Prompt: p, Take: func(a prompt.Answer) turn { return take(a.Text) }}
}

func option(id, title string) prompt.Option { return prompt.Option{ID: id, Title: title} }

func aside(id, title string) prompt.Option {
	return prompt.Option{ID: id, Title: title, Aside: true}
}

// dontKnow is the answer of whoever cannot say; it has the same key on every screen.
var dontKnow = aside("unknown", "don't know")

// write ends an answer with edits of the case.
func write(edits ...record.Edit) turn { return prompt.End(end{edits: edits}) }

// writeThen is write, and notes in the sitting what the answer means for it.
func writeThen(note func(*State), edits ...record.Edit) turn {
	return prompt.End(end{edits: edits, note: note})
}

// keep ends an answer that is one for the sitting alone.
func keep(note func(*interview.Sitting)) turn {
	return prompt.End(end{note: func(s *State) { note(s.Sitting) }})
}

// say ends an answer that changes nothing.
func say(text string) turn { return prompt.End(end{news: prompt.Lines(prompt.Text, text)}) }

// noted adds to what the end of an answer means for the sitting, if it means
// anything.
func noted(t turn, note func(*State)) turn {
	if take := t.Take; take != nil {
		t.Take = func(a prompt.Answer) turn { return noted(take(a), note) }
		return t
	}
	if was := t.End.note; len(t.End.edits) > 0 || was != nil {
		t.End.note = func(s *State) {
			if was != nil {
				was(s)
			}
			note(s)
		}
	}
	return t
}

// counted counts an answered question: after some a check is due.
func counted(t turn) turn { return noted(t, func(s *State) { s.Sitting.InARow++ }) }

// told puts lines before what comes of an answer.
func told(t turn, lines ...prompt.Line) turn {
	if t.Take == nil {
		t.End.news = append(lines, t.End.news...)
		return t
	}
	t.Body = append(lines, t.Body...)
	return t
}

// What the log begins with, of what others must know.
const (
	confirmedLog = "confirmed: "
	closingLog   = "closing up"
	saidLog      = "said: "
	readLog      = "read the stop condition: "
	overLog      = "said to be over: "
)

// log is the edit that notes what was done, by whom and when.
func (r *round) log(did string) record.Edit {
	return record.AddLog(evidence.LogEntry{At: r.time(), By: r.s.By, Did: did})
}

func (r *round) time() string { return evidence.Stamp(r.Now()) }

// fill puts the figures of this pump into a text of the rulebook.
func (r *round) fill(text string) string { return r.Book.Fill(r.k, text) }

// about names something of the rulebook at its places.
func about(kind, id string, places ...evidence.Place) []prompt.About {
	if len(places) == 0 {
		return []prompt.About{{Kind: kind, ID: id}}
	}
	var out []prompt.About
	for _, p := range places {
		out = append(out, prompt.About{Kind: kind, ID: id, Cylinder: p.Cylinder, End: p.End})
	}
	return out
}

// causeAt names a cause at its place.
func (r *round) causeAt(at evidence.At) string {
	return words.Titled(r.Book.Causes.Get(at.ID).Title, at.Place)
}

// named is a place for the record: none for the whole pump.
func named(p evidence.Place) []evidence.Place {
	if p == (evidence.Place{}) {
		return nil
	}
	return []evidence.Place{p}
}

// stopAfter says whether the case with more edits calls for a stop of some kind.
func (r *round) stopAfter(edits []record.Edit, which func(*rules.Stop) bool) bool {
	return slices.ContainsFunc(r.stopsAfter(edits), which)
}

// stopsAfter gives the stops that the case with more edits calls for.
func (r *round) stopsAfter(edits []record.Edit) []*rules.Stop {
	_, k, err := record.Apply(r.File, r.text, r.words(), edits...)
	if err != nil {
		return nil
	}
	return doc.Only(r.Book.Stops.List, func(s *rules.Stop) bool { return s.When.Holds(k, r.Book) })
}
