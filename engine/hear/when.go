package hear

import (
	"regexp"
	"sort"
	"strings"

	"telltale/evidence"
	"telltale/evidence/speech"
	"telltale/rules"
)

// The ways to say when something inside was seen. That a hand or an eye was inside
// while the pump ran takes both in one sentence: what moved, and what was done.
var (
	sentenceEnd = regexp.MustCompile(`[.!?]+(?:\s|$)|\n`)
	pumpStood   = regexp.MustCompile(`(?i)\b(?:` + lastStop +
		`|(?:when|while|with) (?:it|she|the pump|this pump|her) (?:(?:was|were|is) )?(?:down|stopped|shut down|standing(?: still)?|isolated|locked (?:off|out))|(?:when|while) (?:it|she|the pump|this pump) stood` +
		`|we had (?:it|her|the pump) (?:down|stopped|isolated|locked (?:off|out))|with the locks on|(?:behind|under) (?:the )?(?:isolation|locks?))\b`)
	pumpRan = regexp.MustCompile(`(?i)\b(?:` +
		`(?:while|when|as|with) (?:it|she|he|her|the pump|this pump|pump|everything) (?:still |just )?(?:(?:was|is) )?(?:still |just )?(?:ran|runs|running|run|turning|turned|going|moving|stroking|pumping)` +
		`|(?:while|when) (?:still )?(?:running|turning|stroking|pumping|moving)|(?:on|with) (?:a|the) (?:running|turning|moving) pump|on the run|(?:was|is) still (?:running|turning|going|stroking|pumping)` +
		`|(?:didn't|didnt|did not|never) (?:even )?(?:stop|shut) (?:it|her|the pump)(?: down)?|without (?:stopping|shutting))\b`)
	wentInside = regexp.MustCompile(`(?i)\b(?:reach\w*|felt|feel\w*|hands?|fingers?|arms?|covers?|open\w*|look\w*|saw|see|seen|measur\w*|gaug\w*|check\w*|touch\w*|put|stuck|took)\b`)
	handsIn    = regexp.MustCompile(`(?i)\b(?:reach\w* (?:in|inside|into)|(?:hands?|fingers?|arms?) (?:was |were )?(?:in|inside|into)|covers? (?:was |were )?(?:off|open)|(?:took|had|pulled|opened|lifted|removed) (?:the |a |its |her )?(?:\w+ ){0,2}covers?)\b`)
	notSo      = regexp.MustCompile(`(?i)(?:\b(?:not|never|nobody)|n't)\s+(?:\S+\s+){0,2}$`)
)

// lastStop are those that tell of a stop which is over, and say nothing else.
const lastStop = `(?:at|on|during|in|from) (?:(?:the|our|this|its|her) (?:last|latest|previous)|yesterday's|last (?:night|week|tour|shift)'s) (?:stop|shutdown|shut-down|isolation)|(?:the )?last time (?:it|she|the pump) (?:was (?:down|off|stopped|isolated|locked (?:off|out))|stood)`

var atLastStop = regexp.MustCompile(`(?i)\b(?:` + lastStop + `)\b`)

// tellsLastStop takes the words that only tell of the last stop for small ones: what was
// seen there is as surely heard with them as without.
func tellsLastStop(text string, words []speech.Word, items []item) {
	i := 0
	for _, at := range atLastStop.FindAllStringIndex(text, -1) {
		for i < len(items) && words[items[i].from].Start < at[0] {
			i++
		}
		for ; i < len(items) && words[items[i].to-1].End <= at[1]; i++ {
			it := &items[i]
			*it = item{term: -1, role: rules.SaysNothing, from: it.from, to: it.to, stem: it.stem}
		}
	}
}

// takenIn is when something was seen by the words of its own sentence: "" where they
// do not say, or say both.
func takenIn(sentence string) evidence.Taken {
	stood, ran := said(pumpStood, sentence), said(pumpRan, sentence)
	switch {
	case ran && !stood && said(wentInside, sentence):
		return evidence.WhileRunning
	case stood && !pumpRan.MatchString(sentence):
		return evidence.AtLastStop
	}
	return ""
}

// HandsInside says whether a story tells that hands were inside or a cover was off
// while the pump ran, whatever was seen.
func HandsInside(story string) bool {
	from := 0
	for _, end := range append(sentenceEnd.FindAllStringIndex(story, -1), []int{len(story), len(story)}) {
		if s := story[from:end[0]]; said(handsIn, s) && takenIn(s) == evidence.WhileRunning {
			return true
		}
		from = end[1]
	}
	return false
}

// said says whether words are in a sentence and are not denied.
func said(words *regexp.Regexp, sentence string) bool {
	for _, at := range words.FindAllStringIndex(sentence, -1) {
		if !notSo.MatchString(lastWords(sentence[:at[0]], wordsDenied)) {
			return true
		}
	}
	return false
}

// wordsDenied is how many words before others may deny them: the denial and two between.
const wordsDenied = 3

// lastWords gives the end of a text from its n-th last word on; none of one that ends
// with a word.
func lastWords(text string, n int) string {
	at := len(strings.TrimRight(text, blanks))
	if at == len(text) {
		return ""
	}
	for range n {
		at = strings.LastIndexAny(strings.TrimRight(text[:at], blanks), blanks) + 1
	}
	return text[at:]
}

// blanks are those that \s stands for.
const blanks = " \t\n\f\r"

// markTaken notes when each thing was seen. What was once told as seen while the pump
// ran is so wherever the story tells of it.
func markTaken(story string, heard []Heard) {
	ends := sentenceEnd.FindAllStringIndex(story, -1)
	taken := map[[2]int]evidence.Taken{}
	ran := map[string]bool{}
	for i := range heard {
		from, to := 0, len(story)
		if at := sort.Search(len(ends), func(k int) bool { return ends[k][1] > heard[i].Start }); at > 0 {
			from = ends[at-1][1]
		}
		if at := sort.Search(len(ends), func(k int) bool { return ends[k][0] >= heard[i].End }); at < len(ends) {
			to = ends[at][0]
		}
		of := [2]int{from, to}
		when, known := taken[of]
		if !known {
			when = takenIn(story[from:to])
			taken[of] = when
		}
		heard[i].Taken = when
		ran[heard[i].ID] = ran[heard[i].ID] || when == evidence.WhileRunning
	}
	for i := range heard {
		if ran[heard[i].ID] {
			heard[i].Taken = evidence.WhileRunning
		}
	}
}
