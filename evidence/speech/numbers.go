package speech

// numbers joins number words and figures that belong together: "twenty four
// hundred", "3 thousand", "two hundred and fifty".
func numbers(words []Word) []Word {
	out := words[:0:0]
	for i := 0; i < len(words); {
		value, next := spelled(words, i)
		if next == i {
			out = append(out, words[i])
			i++
			continue
		}
		w := words[i]
		w.End, w.Number, w.IsNumber, w.Stem = words[next-1].End, value, true, NumberStem
		w.InLetters = !words[i].IsNumber
		out = append(out, w)
		i = next
	}
	return out
}

var units = map[string]float64{
	"zero": 0, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9, "ten": 10,
	"eleven": 11, "twelve": 12, "thirteen": 13, "fourteen": 14, "fifteen": 15, "sixteen": 16, "seventeen": 17, "eighteen": 18, "nineteen": 19,
}

var tens = map[string]float64{"twenty": 20, "thirty": 30, "forty": 40, "fourty": 40, "fifty": 50, "sixty": 60, "seventy": 70, "eighty": 80, "ninety": 90}

var scales = map[string]float64{"hundred": 100, "hundreds": 100, "thousand": 1000, "grand": 1000, "k": 1000}

// spelled reads the longest number that begins at a word, and says where it
// ends; at the same word if there is none.
func spelled(words []Word, at int) (float64, int) {
	value, next := small(words, at)
	if next == at {
		if _, ok := scales[words[at].Lower]; !ok || at == 0 || words[at-1].Lower != "a" && words[at-1].Lower != "couple" {
			return 0, at
		}
		value = 1 // "a hundred and fifty"
	}
	total := 0.0
	for next < len(words) && words[next].Break == 0 {
		s, ok := scales[words[next].Lower]
		if !ok {
			break
		}
		value, next = value*s, next+1
		rest := next
		if rest < len(words) && words[rest].Lower == "and" && words[rest].Break == 0 {
			rest++
		}
		if more, end := small(words, rest); end > rest && more < s && (rest == next || s >= 100) && words[rest].Break == 0 && !unitFollows(words, end, more) {
			total, value, next = total+value, more, end
		}
	}
	return total + value, next
}

// unitFollows keeps "four hundred and two is quiet" apart: after "and" a single
// figure that no unit follows is a place.
func unitFollows(words []Word, end int, more float64) bool {
	return more < 10 && (end >= len(words) || scales[words[end].Lower] == 0)
}

// small reads a number below a hundred in words, or a figure.
func small(words []Word, at int) (float64, int) {
	if at >= len(words) {
		return 0, at
	}
	w := words[at]
	if w.IsNumber {
		return w.Number, at + 1
	}
	if n, ok := units[w.Lower]; ok {
		return n, at + 1
	}
	n, ok := tens[w.Lower]
	if !ok {
		return 0, at
	}
	if at+1 < len(words) && words[at+1].Break == 0 {
		if one, ok := units[words[at+1].Lower]; ok && one > 0 && one < 10 {
			return n + one, at + 2
		}
	}
	return n, at + 1
}
