package page

import (
	"fmt"
	"io"

	"telltale/engine/practice"
	"telltale/rules"
)

// mostConfused is how many confused pairs the progress shows.
const mostConfused = 10

// Progress writes how a trainee does over all exercises.
func Progress(w io.Writer, b *rules.Book, p *practice.Progress, width int) error {
	if p.All.Exercises == 0 {
		return writeBlocks(w, []string{"No exercise is on record yet."}, nil, width, false)
	}
	blocks := []block{{heading: "BY LEVEL", table: tallyGrid(p), paras: []string{
		"Ratio: minutes over those of the tool's own order in the same worlds, added over the exercises that both solved without a guess.",
		"First: everything found and nothing wrong named before it.",
		"Pass: everything proved, named and rightly corrected, and no safety fault.",
	}}}
	if len(p.Confused) > 0 {
		g := &grid{header: []string{"Hidden", "Named instead", "Times"}}
		for _, c := range p.Confused[:min(len(p.Confused), mostConfused)] {
			g.rows = append(g.rows, []string{causeTitle(b, c.Hidden), causeTitle(b, c.Named), fmt.Sprint(c.Times)})
		}
		blocks = append(blocks, block{heading: "CONFUSED", table: g})
	}
	return writeBlocks(w, []string{fmt.Sprintf("Practice: %d exercises", p.All.Exercises)}, blocks, width, false)
}

func tallyGrid(p *practice.Progress) *grid {
	g := &grid{header: []string{"Level", "Pass", "Solved", "First", "Ratio", "Faults", "Repair", "Shim"}}
	for _, t := range append(append([]practice.Tally{}, p.Levels...), p.All) {
		name, ratio := fmt.Sprint(t.Level), "-"
		if t.Level == 0 {
			name = "all"
		}
		if t.Compared > 0 {
			ratio = fmt.Sprintf("%.2f", t.Ratio)
		}
		g.rows = append(g.rows, []string{
			name, fmt.Sprintf("%d/%d", t.Passed, t.Exercises), fmt.Sprintf("%d/%d", t.Solved, t.Exercises), fmt.Sprint(t.RightFirst), ratio, fmt.Sprint(t.Faults),
			fmt.Sprintf("%d/%d", t.Corrections, t.CorrectionsAsked), fmt.Sprintf("%d/%d", t.Shims, t.ShimsAsked),
		})
	}
	return g
}

// causeTitle names a cause; one that the book no longer has keeps its id.
func causeTitle(b *rules.Book, id string) string {
	if c := b.Causes.Get(id); c != nil {
		return c.Title
	}
	return id
}
