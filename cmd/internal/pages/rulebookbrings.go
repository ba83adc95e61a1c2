package pages

import (
	"slices"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/evidence"
	"telltale/rules"
)

// roleWords say as what a cause is told.
var roleWords = map[rules.Role]string{
	rules.Failure: "failure: what failed", rules.Root: "root: what brings failures on",
}

// bringLine is a bring beside the cause at its other end.
type bringLine struct {
	other string
	rules.Bring
}

// bring tells what a cause brings on, or what brings it on: how often, when, on
// what ground, and how it then shows.
func (e *entry) bring(head string, brings []bringLine) {
	if len(brings) == 0 {
		return
	}
	alike := !slices.ContainsFunc(brings, func(r bringLine) bool { return r.Basis != brings[0].Basis })
	var lines []doc.Item
	for _, r := range brings {
		line := rated(e.book.Scale.Shows, r.Often, naming(r.other, "cause", r.other))
		if r.When != nil {
			line = oneLine(", when ", line, source(r.When))
		}
		var shows []doc.Item
		for _, link := range r.Shows {
			if link.Total == 0 {
				shows = append(shows, naming("never: "+link.Sign, "sign", link.Sign))
				continue
			}
			shows = append(shows, linkLines(e.book, link, "sign", link.Sign)...)
		}
		if len(shows) > 0 {
			line = oneLine(". It then shows ", line, oneLine("; ", shows...))
		}
		line.Text += "." + doc.If(!alike, " Basis: "+r.Basis+".")
		lines = append(lines, line)
	}
	if alike {
		head = strings.TrimSuffix(head, ":") + " (basis: " + brings[0].Basis + "):"
	}
	e.add(listed(head, lines))
}

// broughtLines say how often a cause shows a sign when others brought it on and it
// then shows otherwise than by itself: those that bring it on alike in one line.
func broughtLines(b *rules.Book, k *evidence.Case, c *rules.Cause, sign string) []doc.Item {
	var said []doc.Item
	by := map[string][]string{}
	for _, root := range b.Causes.List {
		if !root.When.HoldsForPump(&k.Pump) {
			continue
		}
		for _, r := range root.BringsFor(k, b) {
			for _, link := range r.Shows {
				if r.Cause != c.ID || link.Sign != sign || link.Total == 0 {
					continue
				}
				line := oneLine("; ", linkLines(b, link, "cause", c.ID)...)
				if by[line.Text] == nil {
					said = append(said, line)
				}
				by[line.Text] = append(by[line.Text], root.ID)
			}
		}
	}
	return doc.Each(said, func(line doc.Item) doc.Item {
		return oneLine(", when brought on by ", line, ids("cause", by[line.Text]))
	})
}
