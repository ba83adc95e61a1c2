package dialogue

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/engine/hear"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/rules"
)

// Tale is what was told: the crew's own words, what was agreed to of them, what may
// be meant besides, and what was not understood.
type Tale struct {
	Text     string
	Agreed   []hear.Heard
	Perhaps  []hear.Heard
	More     []hear.Heard // for which a page has no room
	over     bool         // the crew turned to these
	NotHeard []string
	yes      bool // the crew agreed to all of it
}

// Told gives the edits that write a tale down: signs as findings, work as recent
// work, the last figure of each reading of the pump, and the crew's own words in
// the log. Guesses are kept in the log alone, and so are checks: what they showed
// are signs.
func Told(book *rules.Book, k *evidence.Case, tale Tale, log func(did string) record.Edit) []record.Edit {
	var edits []record.Edit
	for _, h := range tale.Agreed {
		switch {
		case h.Is == hear.IsSign:
			edits = append(edits, ToldSign(book, k, h)...)
		case h.Is == hear.IsWork:
			edits = append(edits, toldWork(h)...)
		case h.Is == hear.IsCheck && TakenAs(book, k, h) != "":
			edits = append(edits, record.SetTaken(TakenAs(book, k, h), h.ID))
		}
		for _, f := range h.Figures {
			edits = append(edits, toldFigure(h, f)...)
		}
	}
	edits = append(edits, log("told: "+tale.Text))
	if _, untouched := hear.Untouched(tale.Text); untouched {
		edits = append(edits, log(untouchedLog))
	}
	for _, h := range tale.Agreed {
		if line := keptInWords(h); line != "" {
			edits = append(edits, log(line))
		}
	}
	if len(tale.NotHeard) > 0 {
		edits = append(edits, log("told, not understood: "+strings.Join(tale.NotHeard, "; ")))
	}
	return edits
}

// toldWork writes down whether a work was done, and whether it helped.
func toldWork(h hear.Heard) []record.Edit {
	switch {
	case h.Kind == hear.NotCured:
		return []record.Edit{record.SayOfRecent(h.ID, record.WorkCured, "no")}
	case h.Kind == hear.Cured:
		return []record.Edit{record.SayOfRecent(h.ID, record.WorkCured, "yes")}
	case h.Answer == string(evidence.Present):
		return []record.Edit{record.AddRecent(h.ID)}
	case h.Answer == string(evidence.Absent):
		return []record.Edit{record.RemoveRecent(h.ID)}
	}
	return nil
}

// toldFigure writes a figure down: what it was before beside what it is now, or
// alone as what the pump does now. By how much something changed is in the log.
func toldFigure(h hear.Heard, f hear.Figure) []record.Edit {
	if f.Change || f.What == "" {
		return nil
	}
	text := fmt.Sprintf("%g %s", f.Value, f.Unit)
	pair := slices.ContainsFunc(h.Figures, func(g hear.Figure) bool { return g.What == f.What && g.Was != f.Was && !g.Change })
	switch {
	case f.Was && pair:
		return []record.Edit{record.SetMeasured(text, "before-and-now", "before", f.What)}
	case f.Was:
		return nil
	case pair:
		return []record.Edit{record.SetMeasured(text, "before-and-now", "now", f.What)}
	case f.What == "discharge" || f.What == "speed":
		return []record.Edit{record.SetPump(f.What, text)}
	}
	return nil
}

// untouchedLog is what the log says where the crew told that nothing was done.
const untouchedLog = "told: nothing was done on the pump lately"

// toldUntouched says whether the crew told that nothing was done on the pump lately.
func (r *round) toldUntouched() bool {
	return slices.ContainsFunc(r.k.Log, func(e evidence.LogEntry) bool { return e.Did == untouchedLog })
}

// Against gives what the case has of what was told that cannot be so beside it: of a
// sign the opposite, or another of its kinds, at a place that is told of; of a work that
// it was done.
func Against(book *rules.Book, k *evidence.Case, h hear.Heard) (out []hear.Heard) {
	if done := (hear.Heard{Is: hear.IsWork, ID: h.ID, Answer: string(evidence.Present)}); h.Is == hear.IsWork && k.WasDone(h.ID) && Opposite(book, done, h) {
		return []hear.Heard{done}
	}
	for _, f := range k.Findings {
		if there := foundSign(f); !f.Measured && Opposite(book, there, h) {
			out = append(out, there)
		}
	}
	return out
}

// Standing gives the signs in the case that a told sign would take back though a stop that
// holds rests on them: there by the case, and told as not there, not known or of another
// kind. Words of somebody's own do not take them back by themselves.
func Standing(book *rules.Book, k *evidence.Case, file string, text []byte, h hear.Heard) (out []hear.Heard) {
	if h.Is != hear.IsSign {
		return nil
	}
	stops := doc.Only(book.Stops.List, func(s *rules.Stop) bool { return s.When.Holds(k, book) })
	_, then, err := record.Apply(file, text, book.Vocabulary(), ToldSign(book, k, h)...)
	for _, f := range k.Findings {
		there := foundSign(f)
		now := h
		if h.Answer == evidence.Unknown {
			now.Answer = string(evidence.Absent)
		}
		rests := slices.ContainsFunc(stops, func(s *rules.Stop) bool {
			return f.Sign == h.ID && s.When.AsksAbout(f.Sign) && (Opposite(book, there, now) || err == nil && !s.When.Holds(then, book))
		})
		if f.Answer == evidence.Present && !f.Measured && rests {
			out = append(out, there)
		}
	}
	return out
}

// foundSign is a finding of the case as it would be told.
func foundSign(f evidence.Finding) hear.Heard {
	out := hear.Heard{Is: hear.IsSign, ID: f.Sign, Answer: string(f.Answer), Kind: f.Kind}
	if f.At != (evidence.Place{}) {
		out.Places = []evidence.Place{f.At}
	}
	return out
}

// givenUp takes out of the case what a told sign stands against.
func givenUp(book *rules.Book, k *evidence.Case, h hear.Heard) []record.Edit {
	was := Against(book, k, h)
	switch {
	case len(was) == 0:
		return nil
	case slices.ContainsFunc(was, func(o hear.Heard) bool { return len(o.Places) == 0 }):
		return []record.Edit{record.ClearFinding(h.ID)}
	}
	return []record.Edit{record.ClearFinding(h.ID, placesTold(book.Signs.Get(h.ID), h)...)}
}

// Opposite says whether two words of a sign exclude each other, or of a work that it
// was done and that it was not, or that it helped and that it did not.
func Opposite(book *rules.Book, was, now hear.Heard) bool {
	unknown := string(evidence.Unknown)
	if now.Is == hear.IsWork {
		same := was.Is == now.Is && was.ID == now.ID && was.Answer != unknown && now.Answer != unknown
		return same && (was.Answer != now.Answer || was.Kind != now.Kind && was.Kind != "" && now.Kind != "")
	}
	if was.Is != hear.IsSign || now.Is != hear.IsSign || was.ID != now.ID || was.Answer == unknown || now.Answer == unknown {
		return false
	}
	for _, h := range []hear.Heard{was, now} {
		if h.OneOf && h.Answer != string(evidence.Present) {
			return false // of one of several places, nobody said which: it may be so of another
		}
	}
	sign := book.Signs.Get(now.ID)
	there, here := placesTold(sign, was), placesTold(sign, now)
	same := was.Answer == now.Answer && (was.Kind == "" || now.Kind == "" || was.Kind == now.Kind)
	switch {
	case same:
		return false
	case sign.Level == evidence.OfPump:
		return true
	case len(there) == 0 && len(here) == 0:
		return true
	case len(there) == 0:
		return was.Answer == string(evidence.Absent) // it is nowhere, and is somewhere with the place named
	case len(here) == 0:
		return now.Answer == string(evidence.Absent)
	}
	return slices.ContainsFunc(here, func(p evidence.Place) bool { return slices.ContainsFunc(there, p.Touches) })
}

// TakenAs gives when something was seen that needs covers off, by the words that told
// it; "" where they do not say, or where it needs none off. On a pump that stands all
// that was not seen while it ran was seen standing.
func TakenAs(book *rules.Book, k *evidence.Case, h hear.Heard) evidence.Taken {
	var off bool
	switch h.Is {
	case hear.IsSign:
		off = h.Answer != string(evidence.Unknown) && book.Signs.Get(h.ID).CoversOff()
	case hear.IsCheck:
		off = h.Answer == string(evidence.Present) && book.Checks.Get(h.ID).CoversOff()
	}
	if !off || h.Taken == evidence.AtLastStop && k.Pump.State != evidence.Running {
		return ""
	}
	return h.Taken
}

// ToldSign writes a sign where it was told, instead of what it stands against. That
// it is not there, or that nobody knows, at one of several places is in the log
// alone: the case has no word for it that says no more.
func ToldSign(book *rules.Book, k *evidence.Case, h hear.Heard) []record.Edit {
	if h.OneOf && h.Answer != string(evidence.Present) {
		return nil
	}
	s, answer := book.Signs.Get(h.ID), h.Answer
	if h.Kind != "" && answer == string(evidence.Present) {
		answer = h.Kind
	}
	edits := append(givenUp(book, k, h), record.SetFinding(s.ID, answer, placesTold(s, h)...))
	if when := TakenAs(book, k, h); when != "" {
		edits = append(edits, record.SetTaken(when, h.ID))
	}
	return edits
}

// placesTold are the places at which a told sign is written; none: the pump, or
// somewhere. At one of several places is somewhere: the case has no narrower word
// for it.
func placesTold(s *rules.Sign, h hear.Heard) []evidence.Place {
	switch {
	case h.OneOf, s.Level == evidence.OfPump:
		return nil
	case s.Level != evidence.OfCylinder:
		return h.Places
	}
	places := slices.Clone(h.Places)
	for i := range places {
		places[i].End = ""
	}
	slices.SortFunc(places, func(a, b evidence.Place) int { return cmp.Compare(a.Cylinder, b.Cylinder) })
	return slices.Compact(places)
}

// keptInWords is what the log keeps of a statement that no key of the case takes.
func keptInWords(h hear.Heard) string {
	switch {
	case h.Is == hear.IsGuess:
		return "guessed, not weighed: " + h.Words
	case h.Is == hear.IsCheck:
		return "told as looked at: " + h.ID + ": " + h.Words
	case h.OneOf:
		return "told: at one of several places: " + h.Words
	}
	return ""
}
