package cli

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"telltale/cmd/internal/dialogue"
	"telltale/cmd/internal/pages"
	"telltale/engine/hear"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/rules"
)

// isTold says whether what is to be noted is told in somebody's own words, and not
// by the names of the rulebook.
func isTold(book *rules.Book, what []string) bool {
	first := what[0]
	if strings.ContainsAny(first, " ,.") {
		return true
	}
	byName := first == "pump" || slices.Contains(lockWords, first) || slices.Contains(noteKeys, first) || slices.Contains(pumpKeys, first) ||
		strings.Contains(first, "-") || len(answersOf(book, first)) > 0
	return !byName && len(what) > 1 && !slices.Contains(namedAnswers, what[1])
}

// noteKeys begin what is noted by names.
var noteKeys = []string{"recent", "recent-not", "manual", "taken", "measured"}

// namedAnswers are said of names alone: before one stands a name, known or not.
var namedAnswers = []string{"present", "absent", "unknown", "clear", "confirmed", "ruled-out", "corrected", "looked-again", "root-left", "nothing", "unclear", "open", "closed"}

// toldNote is a story as it is noted: what was well understood is written, the
// rest is said to be picked by name.
func toldNote(book *rules.Book, k *evidence.Case, o noteOptions) (edits []record.Edit, lines []string, err error) {
	if k == nil {
		return nil, nil, usageError{errors.New("the file is empty; start it with: note CASE pump triplex-single-acting running")}
	}
	text := strings.Join(o.words, " ")
	if err := tellable(text); err != nil {
		return nil, nil, usageError{errors.Join(err, errors.New("tell it in a few sentences"))}
	}
	rest, untouched := hear.Untouched(text)
	story := hear.New(book).Hear(rest, k.Pump.Layout)
	tale := dialogue.Tale{Text: text, NotHeard: story.NotHeard}
	if untouched {
		lines = append(lines, "kept: nothing was done on the pump lately")
	}
	for _, h := range story.Heard {
		switch {
		case h.Is == hear.IsGuess:
			lines = append(lines, "kept, not weighed: "+h.Words)
			tale.Agreed = append(tale.Agreed, h)
		case h.Strength == hear.Strong || h.Is == hear.IsReading:
			line := "written: " + pages.HeardLine(book, &h)
			if dialogue.SeenAtLastStop(book, k, h) {
				line += ", as seen at the last stop"
			}
			for _, was := range dialogue.Against(book, k, h) {
				line += ", INSTEAD of what the file had: " + pages.HeardLine(book, &was)
			}
			lines = append(lines, line)
			tale.Agreed = append(tale.Agreed, h)
		default:
			meant := []string{pages.HeardLine(book, &h)}
			for _, other := range h.Others {
				meant = append(meant, pages.OtherLine(book, other))
			}
			lines = append(lines, fmt.Sprintf("NOT written, pick by name or in ask: %q may mean: %s", h.Words, strings.Join(meant[:min(len(meant), 3)], " / ")))
		}
	}
	for _, words := range story.NotHeard {
		lines = append(lines, fmt.Sprintf("NOT understood: %q", words))
	}
	return dialogue.Told(book, k, tale, func(did string) record.Edit {
		return record.AddLog(evidence.LogEntry{At: time.Now().UTC().Format(time.RFC3339), By: o.by, Did: did})
	}), lines, nil
}
