package dialogue

import (
	"fmt"
	"slices"
	"strings"

	"telltale/engine/hear"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/rules"
)

// Told gives the edits that write down what was agreed to of a told story, beside
// the crew's own words in the log: signs as findings, work as recent work, the
// last figure of each reading of the pump. Guesses are kept in the log alone, and
// so are checks: what they showed are signs.
func Told(book *rules.Book, k *evidence.Case, text string, story *hear.Story, agreed []hear.Heard, log func(did string) record.Edit) []record.Edit {
	var edits []record.Edit
	for _, h := range agreed {
		switch {
		case h.Is == hear.IsSign:
			edits = append(edits, toldSign(book.Signs.Get(h.ID), h))
			if SeenAtLastStop(book, k, h) {
				edits = append(edits, record.SetTaken(evidence.AtLastStop, h.ID))
			}
		case h.Is == hear.IsWork && h.Kind == hear.NotCured:
			edits = append(edits, record.SayOfRecent(h.ID, record.WorkCured, "no"))
		case h.Is == hear.IsWork && h.Kind == hear.Cured:
			edits = append(edits, record.SayOfRecent(h.ID, record.WorkCured, "yes"))
		case h.Is == hear.IsWork && h.Answer == string(evidence.Present):
			edits = append(edits, record.AddRecent(h.ID))
		}
		for _, f := range h.Figures {
			edits = append(edits, toldFigure(h, f)...)
		}
	}
	edits = append(edits, log("told: "+text))
	for _, h := range agreed {
		if line := keptInWords(h); line != "" {
			edits = append(edits, log(line))
		}
	}
	if len(story.NotHeard) > 0 {
		edits = append(edits, log("told, not understood: "+strings.Join(story.NotHeard, "; ")))
	}
	return edits
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

// SeenAtLastStop says whether what was told can only have been seen with covers
// off, of a pump that runs: it is written down as seen at the last stop, and the
// crew is told so before.
func SeenAtLastStop(book *rules.Book, k *evidence.Case, h hear.Heard) bool {
	return h.Is == hear.IsSign && h.Answer != evidence.Unknown && k.Pump.State == evidence.Running && book.Signs.Get(h.ID).CoversOff()
}

// toldSign writes a sign where it was told. At one of several places is
// somewhere: the case has no narrower word for it.
func toldSign(s *rules.Sign, h hear.Heard) record.Edit {
	answer := h.Answer
	if h.Kind != "" && answer == string(evidence.Present) {
		answer = h.Kind
	}
	places := h.Places
	if h.OneOf || s.Level == evidence.OfPump {
		places = nil
	}
	if s.Level == evidence.OfCylinder {
		places = slices.Clone(places)
		for i := range places {
			places[i].End = ""
		}
		slices.SortFunc(places, func(a, b evidence.Place) int { return slices.Compare([]string{a.Cylinder}, []string{b.Cylinder}) })
		places = slices.Compact(places)
	}
	return record.SetFinding(s.ID, answer, places...)
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
