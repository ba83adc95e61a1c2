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
func (e *entry) bring(label string, brings []bringLine) {
	for _, r := range brings {
		text := rated(e.book.Scale.Shows, r.Often, r.other)
		if r.When != nil {
			text += ", when " + r.When.Source
		}
		for i, link := range r.Shows {
			text += doc.If(i == 0, ". It then shows: ") + doc.If(i > 0, "; ")
			if link.Total == 0 {
				text += link.Sign + ": never"
				continue
			}
			text += strings.Join(linkLines(e.book, link, link.Sign), "; ")
		}
		e.facts(label, text+". Basis: "+r.Basis)
	}
}
