package dialogue

import (
	"cmp"
	"fmt"
	"path/filepath"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/pages"
	"telltale/cmd/internal/prompt"
	"telltale/cmd/internal/words"
	"telltale/engine"
	"telltale/engine/chances"
	"telltale/evidence"
)

// How much of each stands on the one screen that hands a pump over.
const (
	mostSeen     = 5
	mostDone     = 4
	mostStanding = 3   // proved, and open
	longDone     = 110 // letters of a line of the log
)

// handedOver says on one screen how a pump stands for who takes it over: what was
// seen, what was done, by whom and when, and what comes next.
func (r *round) handedOver(report *engine.Report) []prompt.Line {
	name := cmp.Or(r.k.Pump.Name, strings.TrimSuffix(filepath.Base(r.File), ".yaml"))
	lines := prompt.Lines(prompt.Text, fmt.Sprintf("%s: %s. Findings so far: %d.", name, r.k.Pump.State, len(r.k.Findings)))
	if report == nil {
		return lines
	}
	seen := make([]string, 0, len(report.Found))
	for _, f := range report.Found {
		seen = append(seen, words.Finding(f))
	}
	lines = append(lines, some("Seen: ", "; ", seen, mostSeen)...)
	proved := doc.Each(report.Confirmed, func(c chances.Confirmed) string { return words.Titled(c.Title, c.Place) })
	lines = append(lines, some("Proved: ", "; ", proved, mostStanding)...)
	open := doc.Each(r.k.Pump.Open, func(at evidence.At) string { return words.Titled(r.Book.Openings.Get(at.ID).Title, at.Place) })
	lines = append(lines, some("Open: ", "; ", open, mostStanding)...)
	closed := doc.Each(r.k.Pump.ClosedAgain, func(at evidence.At) string { return words.Titled(r.Book.Openings.Get(at.ID).Title, at.Place) })
	lines = append(lines, some("Closed again, not back in service yet: ", "; ", closed, mostStanding)...)
	log := r.k.Log
	for _, e := range log[max(0, len(log)-mostDone):] {
		text := strings.TrimSpace(evidence.Logged(e.At) + " " + e.By)
		did := []rune(e.Did)
		if len(did) > longDone {
			did = append(did[:longDone], []rune(" ...")...)
		}
		lines = append(lines, prompt.Line{Kind: prompt.Below, Text: text + ": " + string(did)})
	}
	if step := pages.FirstCheck(report); step != "" {
		lines = append(lines, prompt.Line{Kind: prompt.Below, Text: "Next check: " + step + "."})
	}
	return lines
}

// some joins texts, and says how many are left out.
func some(lead, between string, texts []string, most int) []prompt.Line {
	if len(texts) == 0 {
		return nil
	}
	out := lead + strings.Join(texts[:min(len(texts), most)], between)
	if more := len(texts) - most; more > 0 {
		out += fmt.Sprintf("%sand %d more", between, more)
	}
	return []prompt.Line{{Kind: prompt.Below, Text: out + "."}}
}
