package hear

import (
	"slices"
	"strings"

	"telltale/evidence/speech"
	"telltale/rules"
)

// figures reads the numbers with a unit: "from 2800 down to 2400 psi", "95
// strokes". The first of two of a unit was before.
func (h *hearing) figures(items []item) []Figure {
	var out []Figure
	what := ""
	for i, it := range items {
		for _, w := range h.words[it.from:it.to] {
			switch w.Lower {
			case "charge", "charging", "suction", "centrifugal", "chg", "sxn":
				what = "charge-pressure"
			case "oil", "lube", "air", "clutch", "dampener", "damper", "bottle", "relief", "setting", "set", "gas", "precharge":
				what = "other"
			}
		}
		unit := unitAt(items, i)
		if unit < 0 {
			if it.isNumber && what == "" && h.ofPair(items, i) {
				out = append(out, Figure{What: "discharge", Unit: "psi", Value: it.number})
			}
			continue
		}
		f := Figure{Value: it.number, Change: byHowMuch(h.words, items, i), Was: h.before(items, i)}
		switch items[unit].role {
		case rules.SaysPressure:
			f.What, f.Unit = "discharge", unitOf(strings.ToLower(told(h.text, h.words, items[unit].from, items[unit].to)))
			if what != "" {
				f.What = what
			}
			if f.What == "other" {
				continue
			}
		case rules.SaysStrokes:
			f.What, f.Unit = "speed", "strokes/min"
		default:
			continue
		}
		out = append(out, f)
	}
	if len(out) > 1 && out[0].What == out[1].What {
		out[1].Change = false // "down from 2800 psi to 2400 psi"
	}
	for i := range out {
		for _, later := range out[i+1:] {
			out[i].Was = out[i].Was || later.What == out[i].What && !later.Was && later.What != "speed" // "at 60 and at 90 strokes"
		}
	}
	return out
}

// before says whether the figure is told as what it was: "from 2800 psi", "used to
// be 2800 psi".
func (h *hearing) before(items []item, i int) bool {
	for k := i - 1; k >= max(0, i-3); k-- {
		switch h.words[items[k].from].Lower {
		case "from", "was", "were", "normally", "before", "used", "had":
			return true
		case "to", "now", "is", "at", "reads", "down", "up":
			return false
		}
	}
	return false
}

// byHowMuch says whether the number is how much something changed: "lost 400
// psi", "down by 400 psi", and not "down to 2400 psi".
func byHowMuch(words []speech.Word, items []item, i int) bool {
	for k := i - 1; k >= max(0, i-4); k-- {
		switch words[items[k].from].Lower {
		case "to", "at", "from", "reads", "reading", "shows", "showing", "now", "is":
			return false
		case "down", "up", "lost", "lose", "losing", "dropped", "drop", "fell", "off", "low", "short", "by", "gained", "rose", "higher", "lower", "more", "less", "minus", "plus", "over", "under", "above", "below":
			return true
		}
	}
	if i+2 < len(items) {
		switch words[items[i+2].from].Lower {
		case "down", "short", "less", "low", "light", "lower", "higher", "more", "off", "under", "over", "up":
			return true
		}
	}
	return false
}

// unitAt is the item that is the unit of the number at an item: it stands behind it,
// or behind the other of two, "from 2800 down to 2400 psi"; -1 if there is none.
func unitAt(items []item, i int) int {
	if !items[i].isNumber || items[i].placeNumber {
		return -1
	}
	isUnit := func(k int) bool {
		return k < len(items) && (items[k].role == rules.SaysPressure || items[k].role == rules.SaysStrokes)
	}
	if isUnit(i + 1) {
		return i + 1
	}
	if other := otherOfPair(items, i, 1); other > 0 && isUnit(other+1) {
		return other + 1
	}
	return -1
}

// otherOfPair is the number that is parted from the one at an item by small words
// alone, this way or that; -1 if there is none.
func otherOfPair(items []item, i, step int) int {
	for k := i + step; k >= 0 && k < len(items) && max(k-i, i-k) <= mostBetween; k += step {
		if items[k].isNumber && !items[k].placeNumber {
			return k
		}
		if items[k].role == rules.NamesThing {
			return -1
		}
	}
	return -1
}

// mostBetween is how many items may stand between two numbers of a pair, and the
// second of them: "2800 down to about 2400".
const mostBetween = 4

// A pressure in psi that no unit follows, and one that no discharge is so low as.
const (
	leastDischarge = 500
	mostDischarge  = 10_000
	lowPressure    = 150
	lowBar         = 10
)

// ofPair says whether the number is one of two that can only be discharge pressures:
// no strokes, no bar and no other thing of a pump has such figures.
func (h *hearing) ofPair(items []item, i int) bool {
	other := max(otherOfPair(items, i, 1), otherOfPair(items, i, -1))
	is := func(k int) bool { return items[k].number >= leastDischarge && items[k].number <= mostDischarge }
	return other >= 0 && is(i) && is(other)
}

// pressureTerm is the term of a figure of pressure in the lexicon: a low one is that
// of a charge pump, oil or air, unless it is how much a pressure changed.
func (l *Listener) pressureTerm(words []speech.Word, items []item, i int) int {
	most := float64(lowPressure)
	if w := words[items[i+1].from].Lower; w == "bar" || w == "bars" {
		most = lowBar
	}
	if items[i].number > most || byHowMuch(words, items, i) {
		return l.pressure
	}
	return l.lowPressure
}

func unitOf(word string) string {
	switch word {
	case "bar":
		return "bar"
	case "kpa":
		return "kPa"
	}
	return "psi"
}

// bare puts figures that stand alone as readings.
func (h *hearing) bare(items []item, figures []Figure) bool {
	if len(figures) == 0 || items == nil {
		return false
	}
	h.put(Heard{Is: IsReading, ID: figures[len(figures)-1].What, Answer: "present", Figures: figures, Strength: Fair, Because: "a number with its unit"}, items)
	return true
}

// trend gives the term of what two figures of one kind say: "from 2800 to 2400",
// "was 2800 now 2400" and "2400 should be 2800" fell, "2400 before and 2400 now"
// is well; -1 if there are no two.
func (l *Listener) trend(words []speech.Word, items []item) int {
	var figures []float64
	was := -1 // the figure that the other is held against
	moves := false
	ofPressure := slices.ContainsFunc(items, isPressure)
	for i, it := range items {
		w := words[it.from].Lower
		if swings[it.stem] {
			return -1 // "swings 10 to 45" neither rose nor fell
		}
		moves = moves || w == "from" || i > 0 && (w == "to" || w == "instead")
		if !it.isNumber || it.placeNumber || it.number < leastFigure || ofPressure && i+1 < len(items) && items[i+1].role == rules.SaysStrokes {
			continue
		}
		if heldAgainst(words, items, i) {
			was = len(figures)
		}
		figures = append(figures, it.number)
	}
	if len(figures) != 2 || was < 0 && !moves {
		return -1
	}
	now, before := figures[1], figures[0]
	if was == 1 {
		now, before = before, now
	}
	switch {
	case now == before || was >= 0 && max(now, before) < nearFigure*min(now, before):
		return l.well
	case now < before:
		return l.falls
	}
	return l.rises
}

// swings are the stems of words for a figure that goes between two.
var swings = map[string]bool{"swing": true, "swingin": true, "bounc": true, "bouncin": true, "jump": true, "jumpin": true, "flick": true, "between": true, "wander": true}

// isPressure says whether the item is a unit of pressure.
func isPressure(it item) bool { return it.role == rules.SaysPressure }

// normalFigure says whether a word for well only tells which figure is the normal one:
// "12 psi, normal 30".
func normalFigure(words []speech.Word, items []item, i int) bool {
	if w := words[items[i].from].Lower; !strings.HasPrefix(w, "normal") || !slices.ContainsFunc(items[:i], func(it item) bool { return it.isNumber && !it.placeNumber }) {
		return false
	}
	k := i + 1
	for k < len(items) && items[k].role == rules.SaysNothing && words[items[k].from].Break == 0 {
		k++
	}
	return k < len(items) && items[k].isNumber && !items[k].placeNumber && items[k].number >= leastFigure && words[items[k].from].Break == 0
}

// heldAgainst says whether a figure is told as what was or what should be.
func heldAgainst(words []speech.Word, items []item, i int) bool {
	if i+1 < len(items) && words[items[i+1].from].Lower == "before" {
		return true
	}
	for k := i - 1; k >= max(0, i-4) && !items[k].isNumber; k-- {
		for _, w := range words[items[k].from:items[k].to] {
			switch w.Lower {
			case "now", "to":
				return false
			case "from", "was", "were", "had", "used", "before", "normally", "normal", "normaly", "usually", "usual", "ought", "should", "shud", "supposed", "start", "yesterday", "morning", "against":
				return true
			}
		}
	}
	return false
}

// nearFigure is up to how many times the other a figure that is held against it is the
// same: "2750, was 2760".
const nearFigure = 1.015

// leastFigure is the least figure of which two say a trend.
const leastFigure = 10
