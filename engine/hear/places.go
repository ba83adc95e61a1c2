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
		if end := endGlued(words, items, i); end != "" && layout.Action == evidence.Duplex {
			it.placeNumber, it.end = true, end
			items[i+1].placeName = true
			continue
		}
		if i > 0 && words[items[i-1].from].Lower == "n" && words[items[i-1].from].End == words[it.from].Start {
			items[i-1].placeName, it.placeNumber = true, true // "n2"
			continue
		}
		named := i > 0 && namesNumber[words[items[i-1].to-1].Lower] || words[it.from].Start > 0 && text[words[it.from].Start-1] == '#'
		named = named && !(words[it.from].InLetters && counts(words, items, i)) // "the cover one time more"
		switch {
		case isOrdinal(words, items, i), i > 0 && !words[it.from].InLetters && (words[items[i-1].from].Lower == "that" || words[items[i-1].from].Lower == "this") && words[it.from].Break == 0: // "3rd time", "on that 1"
		case !named && ofACount(words, items, i):
		case ofAnotherPump(words, items, i), i > 0 && items[i-1].role == rules.SaysRest && words[it.from].Break == 0:
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

// abbreviated takes the stop of a shortened word before a number as none: "cyl. 2 and
// no. 3 leak".
func abbreviated(words []speech.Word) {
	for i := 1; i < len(words); i++ {
		if words[i].IsNumber && words[i].Break == '.' && words[i].Number < leastFigure && isShort[words[i-1].Lower] {
			words[i].Break = 0
		}
	}
}

// isShort are the shortened words that stand before the number of a cylinder.
var isShort = map[string]bool{"cyl": true, "cyls": true, "no": true, "nos": true, "nr": true, "num": true}

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

// ofACount says whether a number is that of which some are: "2 of 3".
func ofACount(words []speech.Word, items []item, i int) bool {
	return i > 1 && words[items[i].from].Break == 0 && words[items[i-1].from].Lower == "of" && words[items[i-1].from].Break == 0 && items[i-2].isNumber && !items[i-2].placeNumber
}

// namesNumber are the words before a number that make it a cylinder's.
var namesNumber = map[string]bool{"no": true, "nos": true, "number": true, "numbers": true, "num": true, "nr": true, "cylinder": true, "cyl": true, "cylinders": true, "pot": true, "hole": true, "pod": true, "side": true, "module": true, "liner": true, "piston": true, "rod": true, "valve": true, "wiper": true, "box": true, "cover": true, "cap": true, "crosshead": true, "swab": true}

// isOrdinal says whether the number is told as how often: "3rd time".
func isOrdinal(words []speech.Word, items []item, i int) bool {
	if i+1 >= len(items) || words[items[i+1].from].Start != words[items[i].from].End {
		return false
	}
	switch words[items[i+1].from].Lower {
	case "st", "nd", "rd", "th":
		_, word := ahead(words, items, i+1)
		return word == "time" || word == "one" || word == "this" || word == "set" || word == "in"
	}
	return false
}

// endGlued gives the end that a letter behind the number names, "2h" and "1c";
// "" if there is none, or if it is a time: "for 2h".
func endGlued(words []speech.Word, items []item, i int) string {
	if i+1 >= len(items) || words[items[i+1].from].Start != words[items[i].from].End {
		return ""
	}
	if i > 0 {
		switch words[items[i-1].from].Lower {
		case "for", "after", "in", "every", "within", "last", "about", "around", "over":
			return ""
		}
	}
	switch words[items[i+1].from].Lower {
	case "h", "he", "hd":
		return evidence.HeadEnd
	case "c", "ce", "cr":
		return evidence.CrankEnd
	}
	return ""
}

func ofAnotherPump(words []speech.Word, items []item, i int) bool {
	pump := func(k int) bool {
		if k < 0 || k >= len(items) {
			return false
		}
		w := words[items[k].from].Lower
		return items[k].same != nil && items[k].same.ID == "pump" || w == "mp" || w == "p" && items[k].role != rules.NamesPlace
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
	"knock": true, "beats": true, "holes": true, "sides": true, "places": true, "spots": true, "strokes": true, "stroke": true, "barrels": true, "bbl": true, "bbls": true, "per": true, "percent": true, "degrees": true, "deg": true, "fingers": true, "litres": true, "gallons": true, "gal": true,
	"sacks": true, "pieces": true, "men": true, "guys": true, "more": true, "points": true, "feet": true, "ft": true, "metres": true, "out": true, "stands": true, "joints": true, "ones": true, "pumps": true, "gauges": true, "third": true, "thirds": true, "half": true, "halves": true, "quarters": true,
}

// isDay are words before "at 3" that make it an hour.
var isDay = map[string]bool{"yesterday": true, "today": true, "tonight": true, "night": true, "morning": true, "afternoon": true, "evening": true}

// ofClock are words before a number that make it an hour or a guess of how many:
// "started about two".
var ofClock = map[string]bool{"about": true, "around": true, "roughly": true, "past": true, "til": true, "till": true, "until": true, "since": true, "before": true}

func counts(words []speech.Word, items []item, i int) bool {
	if i > 1 && words[items[i-1].from].Lower == "at" && isDay[words[items[i-2].to-1].Lower] {
		return true // "yesterday at 3"
	}
	if next, word := ahead(words, items, i); next != nil && word == "knocks" {
		_, after := ahead(words, items, i+1)
		return after == "per" || after == "a" || after == "each" || after == "every" || behind(words, items, i) == "hear" || behind(words, items, i) == "of"
	}
	if i > 0 && words[items[i].from].InLetters && ofClock[words[items[i-1].from].Lower] {
		return true
	}
	if i+1 >= len(items) {
		return false
	}
	next := items[i+1]
	w := words[next.from]
	if w.Break != 0 {
		return false
	}
	if w.Lower == "or" && i+2 < len(items) && items[i+2].isNumber { // "1 or 2 drops", and "1 or 3 leaks"
		return items[i+2].number < items[i].number+1 || items[i+2].number > 9 || counts(words, items, i+2)
	}
	if next.role == rules.SaysPressure || next.role == rules.SaysStrokes || countable[w.Lower] || next.isNumber && w.Break == 0 && !next.placeNumber && next.number > 9 {
		return true
	}
	// "two pistons", "three new valves"
	if i > 1 && items[i-2].placeNumber && isJoint(words, items[i-1]) || i > 0 && items[i-1].placeNumber {
		return false // "1 and 2 wipers"
	}
	for k := i + 1; k < min(i+3, len(items)) && words[items[k].from].Break == 0; k++ {
		last := words[items[k].to-1]
		if items[k].role == rules.NamesThing && strings.HasSuffix(last.Lower, "s") && !strings.HasSuffix(last.Lower, "ss") {
			return true
		}
	}
	return false
}

// oneIsAPlace says whether a written "one" is cylinder 1 and no pronoun or count:
// "on one", "one leaks", "two and one", not "one clunk", "on one side".
func oneIsAPlace(words []speech.Word, items []item, i int) bool {
	next, word := ahead(words, items, i)
	verb := next != nil && (isVerb[word] && word != "can" && word != "will" || next.role == rules.SaysNot || next.role == rules.SaysWell || strings.HasSuffix(word, "s") && next.role == "")
	before := behind(words, items, i)
	switch before {
	case "and", "or", "not", "only", "just", "on", "at", "in", "from", "over", "but", "to", "for", "of":
		return next == nil || joints[word] || verb || next.isNumber || next.placeLike() || next.role == rules.SaysNothing && !isVerb[word] && word != "of" && word != "thing"
	case "":
		return verb && before == "" || next != nil && (word == "and" || word == "or" || next.isNumber)
	}
	return i > 0 && items[i-1].placeNumber
}

// where is the places that a clause tells.
type where struct {
	places []evidence.Place
	denied []evidence.Place // "not 1 and 3"
	oneOf  bool
	all    bool
	only   bool
	rest   bool
	ends   []string // ends whose cylinder was not told
	notEnd bool     // and it is denied of them
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
var ofTime = map[string]bool{"along": true, "day": true, "night": true, "time": true, "right": true, "round": true, "way": true, "week": true, "tour": true, "morning": true, "over": true, "stroke": true, "turn": true, "hour": true, "good": true, "fine": true, "month": true, "once": true, "end": true, "ends": true, "down": true, "up": true, "through": true, "about": true, "around": true, "across": true, "by": true, "but": true, "gone": true, "it": true}

// placesOf reads the places of some items.
func placesOf(words []speech.Word, items []item, layout evidence.Layout) where {
	var w where
	denies, either, ended := false, false, 0 // places before ended have their end
	for i, it := range items {
		switch {
		case it.role == rules.SaysOnly:
			w.only = w.only || ofPlace(items, i)
		case it.role == rules.SaysAll && layout.Action == evidence.Duplex && i+1 < len(items) && isEnds(words, items[i+1]):
			w.addEnds(evidence.HeadEnd, evidence.CrankEnd)
		case it.role == rules.SaysAll:
			two := words[it.from].Lower == "both" && len(layout.Cylinders) > 2 // two that were told
			w.all = w.all || !two && ofAllPlaces(words, items, i)
		case it.role == rules.SaysRest:
			w.rest, w.told = true, true
		case it.role == rules.SaysNot:
			w.all = w.all || words[it.from].Lower == "none" && onlySmall(items[:i]) || words[it.from].Lower == "neither" && neitherPlace(words, items, i)
			denies = deniesPlace(items, i)
		case it.placeLike() && comparedWith(words, items, i):
			w.told = true
		case it.placeNumber:
			w.add(evidence.Place{Cylinder: layout.Cylinders[int(it.number)-1], End: it.end}, denies)
		case it.role == rules.NamesPlace:
			for _, n := range it.same.At[layout.Action] {
				end := it.same.End
				w.add(evidence.Place{Cylinder: layout.Cylinders[n-1], End: end}, denies)
			}
			if set := it.same.OneOf[layout.Action]; len(set) > 0 {
				for _, n := range set {
					w.add(evidence.Place{Cylinder: layout.Cylinders[n-1]}, false)
				}
				either = true
			}
			if it.same.End != "" && len(it.same.At) == 0 && layout.Action == evidence.Duplex {
				if several := ended > 0 || len(w.places) > ended && namesCylinder(items[i+1:]); several && len(w.places) > ended && !denies {
					copy(w.places[ended:], atEnds(w.places[ended:], []string{it.same.End})) // "#1 head end and #2 crank end"
					ended = len(w.places)
					continue
				}
				w.addEnds(it.same.End)
				w.notEnd = denies
			}
		case words[it.from].Lower == "or" && i > 0 && i+1 < len(items) && items[i-1].placeLike() && items[i+1].placeLike():
			either = either || !denies
		case words[it.from].Lower == "any" || words[it.from].Lower == "anywhere", it.all:
			w.all = true
		case it.role == "" && it.term >= 0:
			denies = false
		}
	}
	w.oneOf = either && len(w.places) > 1
	if len(w.ends) > 0 && slices.ContainsFunc(w.places, func(p evidence.Place) bool { return p.End == "" }) {
		w.places, w.ends = atEnds(w.places, w.ends), nil
	}
	return w
}

// ofAllPlaces says whether "all" or "both" is said of cylinders: not "all the time",
// "scored all down the side", "is all wet" or "both liner ends".
func ofAllPlaces(words []speech.Word, items []item, i int) bool {
	if b := behind(words, items, i); words[items[i].from].Lower == "all" && items[i].to == items[i].from+1 && (b == "is" || b == "it" || b == "was") {
		return false
	}
	k := i + 1
	for k < len(items) && (words[items[k].from].Lower == "the" || words[items[k].from].Lower == "of") {
		k++
	}
	if k < len(items) && ofTime[words[items[k].from].Lower] {
		return false
	}
	return !(k+1 < len(items) && items[k].role == rules.NamesThing && (isEnds(words, items[k+1]) || words[items[k+1].from].Lower == "sides"))
}

// onlySmall says whether there are none but small words.
func onlySmall(items []item) bool {
	return !slices.ContainsFunc(items, func(it item) bool { return it.role != rules.SaysNothing })
}

// neitherPlace says whether "neither" is said of places: "neither leaks", not
// "neither knock nor hiss".
func neitherPlace(words []speech.Word, items []item, i int) bool {
	next, word := ahead(words, items, i)
	return next == nil || next.role == rules.SaysNothing || strings.HasSuffix(word, "s") || strings.HasSuffix(word, "ing")
}

// isEnds says whether an item is "ends".
func isEnds(words []speech.Word, it item) bool {
	w := words[it.to-1].Lower
	return w == "ends" || w == "end"
}

// deniesPlace says whether a denial is of the place that follows: "not 1 and 3",
// "never on 2".
func deniesPlace(items []item, i int) bool {
	for i++; i < len(items) && items[i].role == rules.SaysNothing && !items[i].placeName; i++ {
	}
	return i < len(items) && items[i].placeLike()
}

// comparedWith says whether a place is only what another is held against: "hotter
// than the right one".
func comparedWith(words []speech.Word, items []item, i int) bool {
	for i--; i >= 0 && items[i].role == rules.SaysNothing && words[items[i+1].from].Break == 0; i-- {
		if words[items[i].to-1].Lower == "than" {
			return true
		}
	}
	return false
}

func (w *where) addEnds(ends ...string) {
	w.told = true
	for _, end := range ends {
		if !slices.Contains(w.ends, end) {
			w.ends = append(w.ends, end)
		}
	}
}

// atEnds gives these ends of the cylinders of the places; a place whose end was told
// keeps it.
func atEnds(places []evidence.Place, ends []string) []evidence.Place {
	var out []evidence.Place
	for _, p := range places {
		for _, end := range ends {
			if at := (evidence.Place{Cylinder: p.Cylinder, End: end}); p.End == "" && !slices.Contains(out, at) {
				out = append(out, at)
			}
		}
		if p.End != "" && !slices.Contains(out, p) {
			out = append(out, p)
		}
	}
	return out
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

// saysOnlyWhere says whether the items say no more than where, and that it is well
// there or not.
func saysOnlyWhere(items []item) bool {
	for i, it := range items {
		if isSense[it.stem] && i+1 < len(items) && (items[i+1].role == rules.SaysWell || items[i+1].role == rules.SaysSame) {
			continue // "the crank end sounds all right"
		}
		if !saysWhere(it) {
			return false
		}
	}
	return true
}

// isSense are the stems of verbs that say by which sense it is well.
var isSense = map[string]bool{"sound": true, "look": true, "feel": true}

func saysWhere(it item) bool {
	switch it.role {
	case rules.SaysNothing, rules.SaysWell, rules.SaysSame, rules.SaysNot, rules.NamesPlace, rules.SaysAll, rules.SaysRest, rules.SaysOnly, rules.SaysUnknown:
		return true
	}
	return it.placeNumber || it.all || it.role == rules.NamesThing && it.same.Numbered || isSame[it.stem]
}

// isSame are the stems of words that say only that it is so there too.
var isSame = map[string]bool{"same": true, "likewis": true, "similar": true, "wors": true, "fainter": true, "stay": true, "remain": true, "except": true}
