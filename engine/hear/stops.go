package hear

import (
	"slices"

	"telltale/evidence"
	"telltale/rules"
)

// stopSigns gives the signs of a book on which a stop rests, each with whether it raises
// one by itself.
func stopSigns(book *rules.Book) map[string]bool {
	out := map[string]bool{}
	for _, sign := range book.Signs.List {
		for _, stop := range book.Stops.List {
			if stop.When.AsksAbout(sign.ID) {
				out[sign.ID] = out[sign.ID] || raises(book, stop, sign)
			}
		}
	}
	return out
}

// raises says whether the sign, in one of its kinds, raises the stop by itself on a pump of
// which nothing else is known.
func raises(book *rules.Book, stop *rules.Stop, sign *rules.Sign) bool {
	k := &evidence.Case{Pump: evidence.Pump{Layout: evidence.Layout{Action: evidence.Triplex, Cylinders: evidence.DefaultCylinders(evidence.Triplex)}, State: evidence.Running}}
	return slices.ContainsFunc(append(sign.KindIDs(), ""), func(kind string) bool {
		k.Findings = []evidence.Finding{{Sign: sign.ID, Answer: evidence.Present, Kind: kind, Over: k.Pump.Layout.Places(sign.Level)}}
		return stop.When.Holds(k, book)
	})
}

// ofStop says whether it is told that a sign is there on which a stop rests.
func (l *Listener) ofStop(is Is, id, answer string) bool {
	_, rests := l.stopSigns[id]
	return rests && is == IsSign && answer == string(evidence.Present)
}

// TellsOfStop says whether words tell, not only weakly, of a sign that raises a stop by
// itself.
func (l *Listener) TellsOfStop(text string, layout evidence.Layout) bool {
	return slices.ContainsFunc(l.Hear(text, layout).Heard, func(h Heard) bool {
		return l.ofStop(h.Is, h.ID, h.Answer) && l.stopSigns[h.ID] && h.Strength != Weak
	})
}

// mayBeStop puts beside a guess the sign that it guesses at and that raises a stop, as the
// weakest of what is heard: whoever believes that it smells of gas is asked whether it is so.
func (h *hearing) mayBeStop(c cut, items []item, hits []hit) {
	if len(hits) == 0 || hits[0].score < leastScore || hits[0].cover < 0.5 || hits[0].absent() {
		return
	}
	if t := h.l.targets[hits[0].phrase.target]; t.is == IsSign && h.l.stopSigns[t.id] {
		h.put(Heard{Is: IsSign, ID: t.id, Kind: h.kind(t.sign, hits[0], items, c), Answer: string(evidence.Present), Strength: Weak, Because: h.because(hits[0]), score: hits[0].score}, items)
	}
}
