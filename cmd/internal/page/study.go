package page

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"telltale/engine/study"
)

// Study writes what closed cases say of the rulebook.
func Study(w io.Writer, r *study.Result, width int, markdown bool) error {
	changed := ""
	if l := r.Local; l != nil {
		changed = fmt.Sprintf("; changed by the local book %s, version %s, digest %s", l.Name, l.Version, l.Digest)
	}
	title := []string{fmt.Sprintf("What %d closed cases say of the rulebook", r.Closed), fmt.Sprintf("Rulebook: %s, digest %s%s. Open cases left out: %d.", r.Rulebook, r.Digest, changed, r.Open)}
	if r.Closed == 0 {
		return writeBlocks(w, title, []block{{heading: "NOTHING TO SCORE", paras: []string{"A case is closed when it has a cause under confirmed:."}}}, width, markdown)
	}
	blocks := []block{scoreBlock(r), bandBlock(r), timesBlock(r), commonBlock(r), missBlock(r), footBlock(
		"The findings of each case were weighed without what was proved, checked or ruled out.",
		"A cause that was not proved counts as not there; it may have been there all the same. So the shares are rather too low.",
		"Few cases prove little. Nothing is changed by itself: --layer writes a local rulebook for a person to read and accept.")}
	return writeBlocks(w, title, present(blocks), width, markdown)
}

func scoreBlock(r *study.Result) block {
	of := func(n int) string {
		return fmt.Sprintf("%d of %d (%.0f %%)", n, r.Closed, 100*float64(n)/float64(r.Closed))
	}
	return block{heading: "HOW OFTEN RIGHT", list: []string{
		"The proved cause came first: " + of(r.First) + ".",
		"It stood among the first three: " + of(r.Three) + ".",
		"Brier score, a case: " + significant(r.Brier, 3) + " (0 is perfect; a sum over all causes).",
		"Log score, a case: " + significant(r.Log, 3) + " (0 is perfect; natural logarithms).",
	}}
}

func bandBlock(r *study.Result) block {
	g := &grid{header: []string{"Chance said", "Causes", "Said on average", "Were there", "95 in 100"}}
	for _, b := range r.Bands {
		if b.Count == 0 {
			continue
		}
		g.rows = append(g.rows, row(fmt.Sprintf("%.0f to %.0f %%", 100*b.From, 100*b.To), strconv.Itoa(b.Count), fmt.Sprintf("%.1f %%", 100*b.Said), fmt.Sprintf("%.1f %%", 100*b.There), fmt.Sprintf("%.1f to %.1f %%", 100*b.Low, 100*b.High)))
	}
	return block{heading: "ARE THE CHANCES BORNE OUT", table: g}
}

func timesBlock(r *study.Result) block {
	b := block{heading: "TIME TO THE CAUSE"}
	if r.Timed == 0 {
		b.list = []string{"No closed case has a log with times from the start to the proof."}
		return b
	}
	b.list = []string{fmt.Sprintf("In %d cases with times: %s by the planned order, %s as it was done.", r.Timed, Minutes(r.Planned), Minutes(r.Took))}
	return b
}

// mostCommon keeps the table readable; JSON has all.
const mostCommon = 15

func commonBlock(r *study.Result) block {
	g := &grid{header: []string{"Cause", "Proved", "Book", "With the record", "95 in 100", ""}}
	for i, c := range r.Common {
		if i >= mostCommon && !c.Moves {
			continue
		}
		mark := ""
		if c.Moves {
			mark = "moves"
		}
		g.rows = append(g.rows, row(c.Cause, strconv.Itoa(c.Proved), perCent(c.Book), perCent(c.Record), perCent(c.Low)+" to "+perCent(c.High), mark))
	}
	if len(g.rows) == 0 {
		return block{}
	}
	return block{heading: "HOW COMMON THE CAUSES ARE", table: g}
}

func perCent(p float64) string { return significant(100*p, 2) + " %" }

func missBlock(r *study.Result) block {
	b := block{heading: "NOT AMONG THE FIRST THREE"}
	for _, m := range r.Misses {
		rank := "not at all"
		if m.Rank > 0 {
			rank = fmt.Sprintf("number %d, %s", m.Rank, Percent(m.Said))
		}
		b.list = append(b.list, fmt.Sprintf("%s: %s: %s", m.Case, strings.TrimSpace(m.Cause+" "+m.Place), rank))
	}
	return b
}
