package pages

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/words"
	"telltale/engine"
	"telltale/engine/chances"
	"telltale/engine/upkeep"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

// CloseOut says in a line what a closed job came to: what failed, where, after how
// long, and what brought it on.
func CloseOut(c *upkeep.CloseOut) string {
	var found []string
	for _, f := range c.Found {
		text := words.Titled(small(f.Title), f.Place)
		if f.Hours != nil {
			after := ", after "
			if f.AtLeast {
				after = ", after at least "
			}
			text += after + fmt.Sprintf("%.0f h", *f.Hours)
		}
		var roots []string
		for _, root := range f.Roots {
			place := root.Place
			if place == f.Place {
				place = evidence.Place{} // said already
			}
			roots = append(roots, words.Titled(small(root.Title), place))
		}
		if len(roots) > 0 {
			text += "; brought on by " + strings.Join(roots, " and ")
		}
		found = append(found, text)
	}
	for _, j := range c.Judged {
		found = append(found, notProved+": "+words.Titled(small(j.Title), j.Place))
	}
	if len(found) == 0 {
		found = []string{"nothing was proved"}
	}
	out := "Closed " + c.Closed + ": " + strings.Join(found, ". Also ") + "."
	if c.Said != "" {
		out += " The crew found: " + c.Said + doc.If(!strings.ContainsAny(c.Said[len(c.Said)-1:], ".!?"), ".")
	}
	return out
}

// notProved marks a cause that the crew takes for what it was.
const notProved = "judged, not proved"

// small begins a title with a small letter, unless its first word is written in
// capitals.
func small(title string) string {
	first, size := utf8.DecodeRuneInString(title)
	if size == 0 {
		return title
	}
	if second, _ := utf8.DecodeRuneInString(title[size:]); unicode.IsUpper(second) {
		return title
	}
	return string(unicode.ToLower(first)) + title[size:]
}

// NotToClose says why a job cannot be closed yet, each reason with what would settle
// it; none: it can.
func NotToClose(book *rules.Book, r *engine.Report, k *evidence.Case) []string {
	out := StillOpen(book, k)
	if k.Pump.State == evidence.Isolated && len(out) == 0 {
		out = append(out, "by the case the pump is still isolated; put it back to service, and note how it stands")
	}
	for _, stop := range r.Stop {
		out = append(out, "a stop condition holds: "+stop.Title)
	}
	for _, c := range r.Confirmed {
		title := words.Titled(c.Title, c.Place)
		switch {
		case !c.Corrected:
			out = append(out, "proved and not corrected: "+title)
		case !c.LookedAgain:
			out = append(out, "corrected and not looked at again: "+title)
		}
		if !c.RootLeft && len(c.RootsLeft) > 0 {
			out = append(out, "nobody looked at what may have brought it on: "+title+" (by "+strings.Join(words.Roots(c.RootsLeft), "; ")+"); look there, or note root-left")
		}
	}
	return out
}

// ClosedTooSoon says of a closed job what stands open or locked by its file all the same.
func ClosedTooSoon(book *rules.Book, k *evidence.Case) string {
	return "This job is closed, but by its file it is not over. " + strings.Join(chances.LeftStanding(book, k), ". ") + "."
}

// StillOpen says what of a pump stands open or locked by its case, and which steps back to
// service are owed to what was opened on it.
func StillOpen(book *rules.Book, k *evidence.Case) []string {
	var out []string
	for _, at := range k.Pump.Open {
		out = append(out, "opened and not closed again: "+openingTitle(book, at))
	}
	for _, l := range k.HangingLocks() {
		out = append(out, "a lock still hangs: "+l.On+", "+l.By)
	}
	for _, o := range k.StillLeftOpen() {
		out = append(out, "not shut again: "+o.What)
	}
	return append(out, Owed(book, k)...)
}

// Owed says which steps back to service are owed to what was opened and what was closed
// again: first those that are owed to it alone.
func Owed(book *rules.Book, k *evidence.Case) []string {
	var forIt, rest []string
	for _, step := range work.Owed(book, k) {
		switch back := book.Returns.Get(step.ID); {
		case back == nil: // the closing of what stands open
		case len(back.Opened) > 0:
			forIt = append(forIt, step.Title)
		default:
			rest = append(rest, step.Title)
		}
	}
	if len(forIt)+len(rest) == 0 {
		return nil
	}
	var out []string
	if closed := doc.Each(k.Pump.ClosedAgain, func(at evidence.At) string { return openingTitle(book, at) }); len(closed) > 0 {
		out = append(out, "the way back to service was not gone to its end since this was open: "+strings.Join(closed, "; "))
	}
	return append(out, "owed on the way back to service: "+strings.Join(append(forIt, rest...), "; "))
}

func openingTitle(book *rules.Book, at evidence.At) string {
	return words.Titled(book.Openings.Get(at.ID).Title, at.Place)
}
