package dialogue

import (
	"fmt"
	"slices"

	"telltale/engine/hear"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/rules"
)

// Told gives the edits that write down what was understood of a told story:
// signs as findings, work as recent work, the last figure of each reading of the
// pump. Guesses are not among them, nor checks: what they showed is.
func Told(book *rules.Book, heard []hear.Heard) []record.Edit {
	var edits []record.Edit
	for _, h := range heard {
		switch h.Is {
		case hear.IsSign:
			edits = append(edits, toldSign(book.Signs.Get(h.ID), h))
		case hear.IsWork:
			if h.Answer == string(evidence.Present) {
				edits = append(edits, record.AddRecent(h.ID))
			}
		}
		for _, f := range h.Figures {
			if !f.Was && !f.Change && (f.What == "discharge" || f.What == "speed") {
				edits = append(edits, record.SetPump(f.What, fmt.Sprintf("%g %s", f.Value, f.Unit)))
			}
		}
	}
	return edits
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
	case h.Is == hear.IsWork && h.Kind != "":
		return "told of the work: " + h.ID + " " + h.Kind + ": " + h.Words
	case h.OneOf:
		return "told: at one of several places: " + h.Words
	}
	return ""
}
