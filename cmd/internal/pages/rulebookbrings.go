package pages

import (
	"strings"

	"telltale/cmd/internal/doc"
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
	var lines []string
	for _, r := range brings {
		text := rated(e.book.Scale.Shows, r.Often, r.other)
		if r.When != nil {
			text += ", when " + r.When.Source
		}
		var shows []string
		for _, link := range r.Shows {
			if link.Total == 0 {
				shows = append(shows, "never: "+link.Sign)
				continue
			}
			shows = append(shows, linkLines(e.book, link, link.Sign)...)
		}
		lines = append(lines, text+". "+doc.If(len(shows) > 0, "It then shows "+strings.Join(shows, "; ")+". ")+"Basis: "+r.Basis)
	}
	e.add(listed(head, lines))
}
