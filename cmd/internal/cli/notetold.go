package cli

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"telltale/cmd/internal/dialogue"
	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/pages"
	"telltale/engine/chances"
	"telltale/engine/hear"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/rules"
)

// isTold says whether what is to be noted is told in somebody's own words, and not
// by the names of the rulebook. One word alone is told where it is one for a danger:
// "H2S", "fire".
func isTold(book *rules.Book, k *evidence.Case, what []string) bool {
	first := what[0]
	if strings.ContainsAny(first, " ,.!") {
		return true
	}
	if len(what) == 1 && k != nil && !ofJob(book, what) && !strings.Contains(first, "-") {
		return hear.TooLong(first) != nil || hear.New(book).TellsOfStop(first, k.Pump.Layout)
	}
	byName := first == "pump" || slices.Contains(lockWords, first) || slices.Contains(noteKeys, first) || slices.Contains(pumpKeys, first) ||
		ofJob(book, what) || strings.Contains(first, "-") || len(answersOf(book, first)) > 0
	return !byName && len(what) > 1 && !slices.Contains(namedAnswers, what[1])
}

// noteKeys begin what is noted by names.
var noteKeys = []string{"recent", "recent-not", "manual", "taken", "measured", rules.SuctionBlock, noteLog}

// namedAnswers are said of names alone: before one stands a name, known or not.
var namedAnswers = []string{"present", "absent", "unknown", "clear", "confirmed", "judged", "ruled-out", "corrected", "looked-again", "root-left", "nothing", "unclear", "open", "closed"}

// toldNote is a story as it is noted: what was well understood is written, the
// rest is said to be picked by name. What the story says once so and once the
// opposite is not written either way.
func toldNote(book *rules.Book, k *evidence.Case, name string, before []byte, o noteOptions) (*note, error) {
	if k == nil {
		return nil, usageError{errors.New("the file is empty; start it with: note CASE pump triplex-single-acting running")}
	}
	text := strings.Join(o.words, " ")
	if err := tellable(text); err != nil {
		return nil, usageError{errors.Join(err, errors.New("tell it in a few sentences"))}
	}
	rest, untouched := hear.Untouched(text)
	story := hear.New(book).Hear(rest, k.Pump.Layout)
	tale := dialogue.Tale{Text: text, NotHeard: story.NotHeard}
	n := &note{}
	if hear.HandsInside(text) {
		n.lines = append(n.lines, pages.HandsInside)
	}
	if untouched {
		n.lines = append(n.lines, "kept: nothing was done on the pump lately")
	}
	sure := doc.Only(story.Heard, func(h hear.Heard) bool { return h.Strength == hear.Strong || h.Is == hear.IsReading })
	for _, h := range story.Heard {
		line := pages.HeardLine(book, &h)
		both := doc.Only(sure, func(other hear.Heard) bool { return dialogue.Opposite(book, other, h) })
		standing := dialogue.Standing(book, k, name, before, h)
		switch {
		case h.Is == hear.IsGuess:
			n.lines = append(n.lines, "kept, not weighed: "+h.Words)
			n.unsure = append(n.unsure, h)
			tale.Agreed = append(tale.Agreed, h)
		case h.Strength != hear.Strong && h.Is != hear.IsReading:
			meant := []string{line}
			for _, other := range h.Others {
				meant = append(meant, pages.OtherLine(book, other))
			}
			n.unsure = append(n.unsure, h)
			n.lines = append(n.lines, fmt.Sprintf("NOT written, pick by name or in ask: %q may mean: %s", h.Words, strings.Join(meant[:min(len(meant), mostMeant)], " / ")))
		case len(both) > 0:
			n.unsure = append(n.unsure, h)
			tale.NotHeard = append(tale.NotHeard, "the opposite was said too: "+h.Words)
			if h.Start < both[0].Start { // said once
				n.lines = append(n.lines, bothSaid(book, o.file, append([]hear.Heard{h}, both...)))
			}
		case len(standing) > 0:
			n.unsure = append(n.unsure, h)
			tale.NotHeard = append(tale.NotHeard, "not taken back by words: "+h.Words)
			n.lines = append(n.lines, stands(book, o.file, h, standing))
		default:
			switch dialogue.TakenAs(book, k, h) {
			case evidence.AtLastStop:
				line += ", as seen at the last stop"
			case evidence.WhileRunning:
				line += ", as seen while the pump ran"
			}
			for _, was := range dialogue.Against(book, k, h) {
				line += ", INSTEAD of what the file had: " + pages.HeardLine(book, &was)
			}
			n.lines = append(n.lines, "written: "+line)
			tale.Agreed = append(tale.Agreed, h)
		}
	}
	for _, words := range story.NotHeard {
		n.lines = append(n.lines, fmt.Sprintf("NOT understood: %q", words))
	}
	n.edits = dialogue.Told(book, k, tale, func(did string) record.Edit {
		return record.AddLog(evidence.LogEntry{At: evidence.Stamp(time.Now()), By: o.by, Did: did})
	})
	return n, nil
}

// mostMeant is how much is named that words may mean.
const mostMeant = 3

// bothSaid says that a story says one thing and its opposite, and how each is
// noted by its name.
func bothSaid(book *rules.Book, file string, both []hear.Heard) string {
	said := doc.Each(both, func(h hear.Heard) string { return fmt.Sprintf("%q (%s)", h.Words, pages.HeardLine(book, &h)) })
	byName := doc.Each(both, func(h hear.Heard) string { return byName(file, h) })
	return "NOT written, the story says both: " + strings.Join(said, " and ") + ". Look which is so, then: " + strings.Join(byName, ", or: ")
}

// byName is how what was told is noted by its name.
func byName(file string, h hear.Heard) string {
	if h.Is == hear.IsWork {
		return "note " + file + " recent " + h.ID + " " + h.Kind
	}
	out := "note " + file + " " + h.ID + " " + cmp.Or(h.Kind, h.Answer)
	for _, p := range h.Places {
		out += " " + quoted(p.String())
	}
	return out
}

// stands says that words do not take back a sign on which a stop that holds rests, and how
// it is taken back.
func stands(book *rules.Book, file string, h hear.Heard, standing []hear.Heard) string {
	over := doc.Each(standing, func(s hear.Heard) string {
		s.Answer, s.Kind = string(evidence.Absent), ""
		return "telltale " + byName(file, s)
	})
	return fmt.Sprintf("NOT written: %q. By the case it stands, and words do not take it back: %s. If it is over: %s", h.Words,
		strings.Join(doc.Each(standing, func(s hear.Heard) string { return pages.HeardLine(book, &s) }), "; "), strings.Join(over, ", "))
}

// quoted is one word of a command line.
func quoted(word string) string {
	if strings.Contains(word, " ") {
		return strconv.Quote(word)
	}
	return word
}

// stopsIfSo gives the stop conditions that do not hold and would if something that
// was told and is not written, or what its words may mean besides, is so.
func stopsIfSo(book *rules.Book, file *record.File, n *note) []chances.Stop {
	return dialogue.StopsIfSo(book, n.then, file.Name(), file.Text(), n.meant())
}

// meant is what was told and is not written, with what its words may mean besides.
func (n *note) meant() (meant []hear.Heard) {
	for _, h := range n.unsure {
		meant = append(meant, h)
		for _, other := range h.Others[:min(len(h.Others), mostMeant-1)] {
			meant = append(meant, h.Instead(other))
		}
	}
	return meant
}
