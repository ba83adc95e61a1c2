package dialogue

import (
	"slices"
	"strings"

	"telltale/cmd/internal/pages"
	"telltale/cmd/internal/prompt"
	"telltale/cmd/internal/words"
	"telltale/engine/hear"
	"telltale/engine/interview"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/rules"
)

// What a case holds is asked for again where somebody says that it is not so.

// Known is one thing that a case holds.
type Known struct {
	Name string // no other thing of the case has it
	Is   KnownIs
	Text string
	ask  Follow
}

// KnownIs is what a Known is.
type KnownIs string

// What a case holds, besides readings.
const (
	KnownSeen    KnownIs = "seen"    // a sign, there or not, or nobody knows
	KnownChecked KnownIs = "checked" // a check that was made
	KnownDone    KnownIs = "done"    // work
	KnownProved  KnownIs = "proved"  // a cause that is proved, or ruled out
)

// KnownOf lists what a case holds, in its order.
func KnownOf(book *rules.Book, k *evidence.Case) (out []Known) {
	add := func(is KnownIs, text string, ask Follow) {
		ask.Anew = true
		name := strings.TrimSpace(strings.Join([]string{string(is), ask.Sign + ask.Check + ask.Work + ask.Cause, ask.At.String()}, " "))
		out = append(out, Known{Name: name, Is: is, Text: text, ask: ask})
	}
	said := func(is hear.Is, id, answer, kind string, at evidence.Place) string {
		return pages.HeardLine(book, &hear.Heard{Is: is, ID: id, Answer: answer, Kind: kind, Places: named(at)})
	}
	for _, f := range k.Findings {
		if !f.Measured {
			add(KnownSeen, said(hear.IsSign, f.Sign, string(f.Answer), f.Kind, f.At), Follow{Sign: f.Sign, At: f.At})
		}
	}
	for _, at := range k.NotKnown {
		add(KnownSeen, said(hear.IsSign, at.ID, evidence.Unknown, "", at.Place), Follow{Sign: at.ID, At: at.Place})
	}
	for _, at := range k.Cleared {
		add(KnownChecked, said(hear.IsCheck, at.ID, string(evidence.Present), "", at.Place)+"; nothing wrong found", Follow{Check: at.ID, At: at.Place})
	}
	for _, at := range k.Unclear {
		add(KnownChecked, said(hear.IsCheck, at.ID, string(evidence.Present), "", at.Place), Follow{Check: at.ID, At: at.Place})
	}
	for _, w := range k.Recent {
		kind := map[evidence.Known]string{evidence.Yes: hear.Cured, evidence.No: hear.NotCured}[w.Cured]
		add(KnownDone, said(hear.IsWork, w.ID, string(evidence.Present), kind, evidence.Place{}), Follow{Work: w.ID})
	}
	proved := func(all []evidence.At, lead string) {
		for _, at := range all {
			add(KnownProved, lead+words.Titled(book.Causes.Get(at.ID).Title, at.Place), Follow{Cause: at.ID, At: at.Place})
		}
	}
	proved(k.Confirmed, "Proved: ")
	proved(k.Judged, "Judged, not proved: ")
	proved(k.RuledOut, "Ruled out: ")
	return out
}

// PutRight asks again for one thing that the case holds, by its name, before anything but
// a stop condition. It writes nothing; an answer that was begun is given up. A
// *prompt.Problem if the case does not hold it, or is closed.
func (s *Sitting) PutRight(name string) error {
	k, err := s.file.Case()
	if err != nil {
		return err
	}
	if k == nil || k.Job.IsClosed() {
		return &prompt.Problem{Code: prompt.Other, Text: "Over a closed job nothing is asked again. Open it again first."}
	}
	all := KnownOf(s.talk.Book, k)
	i := slices.IndexFunc(all, func(one Known) bool { return one.Name == name })
	if i < 0 {
		return &prompt.Problem{Code: prompt.Other, Text: "That does not stand in the case any more."}
	}
	was, now := s.state.copy(), s.state.copy()
	was.Before, was.Said, was.News, was.Given = nil, nil, nil, nil
	if now.Rests != "" {
		now.Before = append(now.Before, Moment{Text: string(s.file.Text()), State: was})
	}
	now.Follow = append([]Follow{all[i].ask}, slices.DeleteFunc(now.Follow, func(f Follow) bool { return f.Anew })...)
	now.Said, now.News, now.Over = nil, nil, false
	s.state = now.on(s.file.Text())
	return nil
}

// anew asks again for what the case holds.
func (r *round) anew(f Follow) turn {
	p := prompt.Prompt{ID: "again " + f.Sign + f.Check + f.Work + f.Cause + " " + f.At.String(), Ask: "Does this stand?"}
	switch {
	case f.Sign != "":
		return noted(r.signAnew(f), unfollow)
	case f.Check != "":
		p.About = about("check", f.Check, f.At)
	case f.Cause != "":
		p.About = about("cause", f.Cause, f.At)
	}
	all := KnownOf(r.Book, r.k)
	i := slices.IndexFunc(all, func(one Known) bool { return one.ask == f })
	if i < 0 {
		return followed()
	}
	p.Body = prompt.Lines(prompt.Block, all[i].Text)
	p.Options = []prompt.Option{option("stands", "yes, it stands")}
	edits := map[string][]record.Edit{}
	offer := func(id, title string, of ...record.Edit) {
		edits[id], p.Options = of, append(p.Options, option(id, title))
	}
	at := evidence.At{ID: f.Cause, Place: f.At}
	log := r.log("put right: " + all[i].Text)
	switch {
	case f.Check != "":
		offer("out", "no; it counts as not made, and is offered again", record.Unchecked(f.Check, named(f.At)...), log)
	case f.Work != "":
		h := hear.Heard{Is: hear.IsWork, ID: f.Work, Answer: string(evidence.Absent)}
		offer("out", "no, it was not done", append(toldWork(h), log)...)
		for kind, title := range map[string]string{hear.NotCured: "it was done, and did not help", hear.Cured: "it was done, and helped"} {
			h.Answer, h.Kind = string(evidence.Present), kind
			if pages.HeardLine(r.Book, &h) != all[i].Text {
				offer(kind, title, append(toldWork(h), log)...)
			}
		}
	case hasAt(r.k.RuledOut, at):
		offer("out", "no, it is not ruled out", record.Unrule(f.Cause, named(f.At)...), log)
	case hasAt(r.k.Judged, at):
		offer("out", "no, it is not taken for it", record.Unjudge(f.Cause, named(f.At)...), log)
	default:
		offer("out", "it is not proved after all", r.unproved(at)...)
		if hasAt(r.k.Corrected, at) {
			offer("wrong", "it is proved, but it is not put right", record.Uncorrected(f.Cause, named(f.At)...), log)
		}
	}
	slices.SortStableFunc(p.Options, func(a, b prompt.Option) int { return strings.Compare(orderAnew[a.ID], orderAnew[b.ID]) })
	return ask(p, func(id string) turn { return writeThen(unfollow, edits[id]...) })
}

// orderAnew is the order of what can be said of a thing that the case holds.
var orderAnew = map[string]string{"stands": "1", "out": "2", hear.NotCured: "3", hear.Cured: "4", "wrong": "5"}

// signAnew asks again for a sign where it was answered: at one place, or, if nobody said
// at which, everywhere. What was said of it there goes with the new answer.
func (r *round) signAnew(f Follow) turn {
	s := r.Book.Signs.Get(f.Sign)
	places := r.k.Pump.Under(f.At, s.Level)
	if slices.Contains(places, f.At) {
		return r.answer(s, places, nil)
	}
	return before(r.answer(s, places, nil), record.ClearFinding(s.ID, named(f.At)...))
}

// before puts edits before those that the end of an answer comes to, if it comes to any.
func before(t turn, edits ...record.Edit) turn {
	if take := t.Take; take != nil {
		t.Take = func(a prompt.Answer) turn { return before(take(a), edits...) }
		return t
	}
	if len(t.End.edits) > 0 {
		t.End.edits = append(slices.Clip(edits), t.End.edits...)
	}
	return t
}

func hasAt(all []evidence.At, at evidence.At) bool {
	return slices.ContainsFunc(all, func(o evidence.At) bool { return o.ID == at.ID && o.Place == at.Place })
}

// asksAnew says whether something that the case holds is asked for again now.
func (r *round) asksAnew(m *interview.Move) bool {
	return len(r.s.Follow) > 0 && r.s.Follow[0].Anew && m.Kind != interview.Leave
}
