package hear

import (
	"slices"
	"strings"

	"telltale/evidence"
	"telltale/evidence/speech"
	"telltale/rules"
)

// markPlaces finds the numbers that name cylinders: "No 2", "two", "1 and 3",
// not "two hours", "two of them", "pump 2" or "two pistons".
func markPlaces(text string, words []speech.Word, items []item, layout evidence.Layout) {
	for i := range items {
		it := &items[i]
		if !it.isNumber || it.number != float64(int(it.number)) || it.number < 1 || int(it.number) > len(layout.Cylinders) {
			continue
		}
		named := i > 0 && namesNumber[words[items[i-1].to-1].Lower] || words[it.from].Start > 0 && text[words[it.from].Start-1] == '#'
		switch {
		case ofAnotherPump(words, items, i):
		case !named && ofAll(words, items, i, len(layout.Cylinders)):
			it.all = true
		case named:
			it.placeNumber = true
			if i > 0 && !items[i-1].isNumber && namesNumber[words[items[i-1].to-1].Lower] && items[i-1].role != rules.NamesThing {
				items[i-1].placeName = true // "number 1 and number 2" stay together
			}
		case counts(words, items, i):
		case words[it.from].InLetters && it.number == 1:
			it.placeNumber = oneIsAPlace(words, items, i)
		default:
			it.placeNumber = true
		}
	}
}

// ofAll says whether a number is that of all cylinders: "in the three", "any of
// the 3", "both of the two boxes".
func ofAll(words []speech.Word, items []item, i, cylinders int) bool {
	if int(items[i].number) != cylinders || i == 0 || words[items[i].from].Break != 0 {
		return false
	}
	switch words[items[i-1].to-1].Lower {
	case "the", "all", "these", "them":
		return true
	}
	return false
}

// namesNumber are the words before a number that make it a cylinder's.
var namesNumber = map[string]bool{"no": true, "number": true, "num": true, "nr": true, "cylinder": true, "cyl": true, "cylinders": true, "pot": true, "hole": true, "pod": true, "side": true, "module": true, "liner": true, "piston": true, "rod": true, "valve": true, "wiper": true}

func ofAnotherPump(words []speech.Word, items []item, i int) bool {
	pump := func(k int) bool {
		return k >= 0 && k < len(items) && (words[items[k].from].Lower == "pump" || words[items[k].from].Lower == "pmp" || words[items[k].from].Lower == "mp")
	}
	back := i - 1
	if back >= 0 && namesNumber[words[items[back].from].Lower] {
		back--
	}
	return pump(back) || pump(i+1)
}

// countable are words behind a number that make it a count, a time or a size.
var countable = map[string]bool{
	"hour": true, "hours": true, "hrs": true, "hr": true, "h": true, "day": true, "days": true, "week": true, "weeks": true, "month": true, "months": true, "minute": true, "minutes": true, "min": true, "mins": true,
	"times": true, "time": true, "tour": true, "tours": true, "inch": true, "inches": true, "in": true, "thou": true, "mm": true, "of": true, "x": true, "turns": true, "turn": true, "year": true, "years": true,
	"knocks": true, "knock": true, "beats": true, "strokes": true, "stroke": true, "barrels": true, "bbl": true, "bbls": true, "per": true, "percent": true, "degrees": true, "deg": true, "fingers": true, "litres": true, "gallons": true, "gal": true,
	"sacks": true, "pieces": true, "men": true, "guys": true, "more": true, "points": true, "feet": true, "ft": true, "metres": true, "or": true, "out": true, "stands": true, "joints": true, "ones": true, "pumps": true, "gauges": true, "third": true,
}

func counts(words []speech.Word, items []item, i int) bool {
	if i+1 >= len(items) {
		return false
	}
	next := items[i+1]
	w := words[next.from]
	if w.Break != 0 {
		return false
	}
	if next.role == rules.SaysPressure || next.role == rules.SaysStrokes || countable[w.Lower] || next.isNumber && w.Break == 0 && !next.placeNumber && next.number > 9 {
		return true
	}
	// "two pistons", "three new valves"
	for k := i + 1; k < min(i+3, len(items)); k++ {
		last := words[items[k].to-1]
		if items[k].role == rules.NamesThing && strings.HasSuffix(last.Lower, "s") && !strings.HasSuffix(last.Lower, "ss") {
			return true
		}
	}
	return false
}

// oneIsAPlace says whether a written "one" is cylinder 1 and no pronoun.
func oneIsAPlace(words []speech.Word, items []item, i int) bool {
	if i > 0 && words[items[i].from].Break == 0 {
		switch words[items[i-1].to-1].Lower {
		case "and", "or", "not", "only", "just", "on", "at", "in", "from", "over", "but", "to", "for", "of":
			return i+1 >= len(items) || words[items[i+1].from].Lower != "side" && words[items[i+1].from].Lower != "thing" && words[items[i+1].from].Lower != "more"
		}
		return items[i-1].placeNumber
	}
	if i+1 < len(items) {
		switch words[items[i+1].from].Lower {
		case "and", "is", "has", "was", "or", "leaks", "knocks", "hisses", "runs", "does":
			return true
		}
		return items[i+1].isNumber
	}
	return false
}

// where is the places that a clause tells.
type where struct {
	places []evidence.Place
	denied []evidence.Place // "not 1 and 3"
	oneOf  bool
	all    bool
	only   bool
	rest   bool
	end    string // an end whose cylinder was not told
	told   bool
}

// ofPlace says whether "only" is said of places, and not of how it is: "only warm".
func ofPlace(items []item, i int) bool {
	for _, it := range items[i+1:] {
		switch {
		case it.role == rules.SaysNothing:
		case it.placeLike(), it.role == rules.NamesThing:
			return true
		default:
			return false
		}
	}
	return true
}

// ofTime are the words behind "all" or "every" that make it no word for places.
var ofTime = map[string]bool{"along": true, "day": true, "night": true, "time": true, "right": true, "round": true, "way": true, "week": true, "tour": true, "morning": true, "over": true, "stroke": true, "turn": true, "hour": true, "good": true, "fine": true, "month": true, "once": true, "end": true, "ends": true}

// placesOf reads the places of some items.
func placesOf(words []speech.Word, items []item, layout evidence.Layout) where {
	var w where
	denies := false
	for i, it := range items {
		switch {
		case it.role == rules.SaysOnly:
			w.only = w.only || ofPlace(items, i)
		case it.role == rules.SaysAll:
			w.all = w.all || i+1 >= len(items) || !ofTime[words[items[i+1].from].Lower]
		case it.role == rules.SaysRest:
			w.rest, w.told = true, true
		case it.role == rules.SaysNot:
			w.all = w.all || words[it.from].Lower == "none" || words[it.from].Lower == "neither"
			denies = i+1 < len(items) && items[i+1].placeLike()
		case it.placeNumber:
			w.add(evidence.Place{Cylinder: layout.Cylinders[int(it.number)-1]}, denies)
		case it.role == rules.NamesPlace:
			for _, n := range it.same.At[layout.Action] {
				w.add(evidence.Place{Cylinder: layout.Cylinders[n-1]}, denies)
			}
			if set := it.same.OneOf[layout.Action]; len(set) > 0 {
				for _, n := range set {
					w.add(evidence.Place{Cylinder: layout.Cylinders[n-1]}, false)
				}
				w.oneOf = true
			}
			if it.same.End != "" && layout.Action == evidence.Duplex {
				w.end, w.told = it.same.End, true
			}
		case words[it.from].Lower == "any", it.all:
			w.all = true
		case it.role == "" && it.term >= 0:
			denies = false
		}
	}
	if w.end != "" && len(w.places) > 0 {
		for i := range w.places {
			w.places[i].End = w.end
		}
		w.end = ""
	}
	return w
}

func (w *where) add(p evidence.Place, denied bool) {
	w.told = true
	list := &w.places
	if denied {
		list = &w.denied
	}
	if !slices.Contains(*list, p) {
		*list = append(*list, p)
	}
}

// namesCylinder says whether a number or a side names a cylinder.
func namesCylinder(items []item) bool {
	return slices.ContainsFunc(items, func(it item) bool {
		return it.placeNumber || it.role == rules.NamesPlace && len(it.same.At)+len(it.same.OneOf) > 0
	})
}
