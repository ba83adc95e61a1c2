package hear

import (
	"strings"

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
		if !it.isNumber || it.placeNumber || i+1 >= len(items) {
			continue
		}
		unit := strings.ToLower(told(h.text, h.words, items[i+1].from, items[i+1].to))
		f := Figure{Value: it.number, Change: h.byHowMuch(items, i), Was: h.before(items, i)}
		switch items[i+1].role {
		case rules.SaysPressure:
			f.What, f.Unit = "discharge", unitOf(unit)
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
	if len(out) > 1 && out[0].Unit == out[1].Unit {
		out[1].Change = false // "down from 2800 psi to 2400 psi"
	}
	for i := range out {
		for _, later := range out[i+1:] {
			out[i].Was = out[i].Was || later.What == out[i].What && !later.Was
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
func (h *hearing) byHowMuch(items []item, i int) bool {
	for k := i - 1; k >= max(0, i-4); k-- {
		switch h.words[items[k].from].Lower {
		case "to", "at", "from", "reads", "reading", "shows", "showing", "now", "is":
			return false
		case "down", "up", "lost", "lose", "losing", "dropped", "drop", "fell", "off", "low", "short", "by", "gained", "rose", "higher", "lower", "more", "less", "minus", "plus", "over", "under", "above", "below":
			return true
		}
	}
	if i+2 < len(items) {
		switch h.words[items[i+2].from].Lower {
		case "down", "short", "less", "low", "light", "lower", "higher", "more", "off", "under", "over", "up":
			return true
		}
	}
	return false
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
