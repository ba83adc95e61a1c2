package site

import (
	"strings"

	"telltale/cmd/internal/pages"
	"telltale/cmd/internal/prompt"
	"telltale/rules"
)

// A block of readings is typed in by the fields that its form on paper has.
type (
	block = pages.Block
	field = pages.Field
)

// suctionBlock and shimsBlock do not stand under measured: in the case file.
const (
	suctionBlock = rules.SuctionBlock
	shimsBlock   = rules.ShimsBlock
)

// written is what was typed as it stands in a file: a bare number with its unit.
func written(f *field, text string, metric bool) string {
	text = prompt.Plain(text)
	if f.In.Of == "" || text == "" {
		return text
	}
	e := prompt.Entry{Of: f.In.Of, Unit: f.In.Unit(metric)}
	if low, high, isRange := strings.Cut(text, " to "); isRange {
		return strings.Replace(low, ",", ".", 1) + " to " + e.Written(high)
	}
	return e.Written(text)
}
