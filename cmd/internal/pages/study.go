package pages

import (
	"fmt"
	"strconv"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/words"
	"telltale/engine/study"
)

// Study is what closed cases say of the rulebook.
func Study(r *study.Result) *doc.Document {
	d := &doc.Document{
		Title: fmt.Sprintf("What %d closed cases say of the rulebook", r.Closed),
		Lines: []string{fmt.Sprintf("Rulebook: %s, digest %s%s. Open cases left out: %d.", r.Rulebook, r.Digest, localLine(r.Local), r.Open)},
	}
	if r.Closed == 0 {
		d.Add(doc.Section{Heading: "Nothing to score", Parts: []doc.Part{doc.Text("A case is closed when it has a cause under confirmed:.")}})
		return d
	}
	d.Add(scores(r), bands(r), times(r), common(r), misses(r), notes(
		"The findings of each case were weighed without what was proved, checked or ruled out.",
		"What brought a failure on is scored given that failure, where the case names it under brought-on-by:. That nothing did is one of the answers. A root alone is of the cases in which no failure was proved.",
		"A cause that was neither proved nor named there counts as not there; it may have been there all the same. So the shares are rather too low.",
		"Few cases prove little. Nothing is changed by itself: --layer writes a local rulebook for a person to read and accept."))
	return d
}

func scores(r *study.Result) doc.Section {
	t := &doc.Table{Head: []string{"Told", "First", "First three", "Not at all"}}
	for _, row := range []struct {
		what string
		study.Right
	}{{"What failed", r.Failure}, {"What brought it on", r.Root}, {"A root alone", r.Alone}} {
		of := func(n int) string {
			return fmt.Sprintf("%d of %d (%.0f %%)", n, row.Of, 100*float64(n)/float64(row.Of))
		}
		if row.Of == 0 {
			of = func(int) string { return "no case" }
		}
		t.Rows = append(t.Rows, doc.Cells(row.what, of(row.First), of(row.Three), of(row.NotTold)))
	}
	return doc.Section{Heading: "How often right", Parts: []doc.Part{{Table: t}, doc.List(
		"Brier score, a case: "+words.Significant(r.Brier, 3)+" (0 is perfect; a sum over all causes).",
		"Log score, a case: "+words.Significant(r.Log, 3)+" (0 is perfect; natural logarithms).",
	)}}
}

// tabled is a section of one table.
func tabled(heading string, t *doc.Table) doc.Section {
	return doc.Section{Heading: heading, Parts: []doc.Part{{Table: t}}}
}

func bands(r *study.Result) doc.Section {
	t := &doc.Table{Head: []string{"Chance said", "Causes", "Said on average", "Were there", "95 in 100"}}
	for _, b := range r.Bands {
		if b.Count > 0 {
			t.Rows = append(t.Rows, doc.Cells(fmt.Sprintf("%.0f to %.0f %%", 100*b.From, 100*b.To), strconv.Itoa(b.Count), fmt.Sprintf("%.1f %%", 100*b.Said), fmt.Sprintf("%.1f %%", 100*b.There), fmt.Sprintf("%.1f to %.1f %%", 100*b.Low, 100*b.High)))
		}
	}
	return tabled("Are the chances borne out", t)
}

func times(r *study.Result) doc.Section {
	line := "No closed case has a log with times from the start to the proof."
	if r.Timed > 0 {
		line = fmt.Sprintf("In %d cases with times: %s by the planned order, %s as it was done.", r.Timed, words.Minutes(r.Planned), words.Minutes(r.Took))
	}
	return doc.Section{Heading: "Time to the cause", Parts: []doc.Part{doc.List(line)}}
}

// mostCommon keeps the table readable; JSON has all.
const mostCommon = 15

func common(r *study.Result) doc.Section {
	perCent := func(p float64) string { return words.Significant(100*p, 2) + " %" }
	t := &doc.Table{Head: []string{"Cause", "Proved", "Book", "With the record", "95 in 100", ""}}
	for i, c := range r.Common {
		if i >= mostCommon && !c.Moves {
			continue
		}
		t.Rows = append(t.Rows, doc.Cells(c.Cause, strconv.Itoa(c.Proved), perCent(c.Book), perCent(c.Record), perCent(c.Low)+" to "+perCent(c.High), doc.If(c.Moves, "moves")))
	}
	return tabled("How common the causes are", t)
}

func misses(r *study.Result) doc.Section {
	var lines []string
	for _, m := range r.Misses {
		rank := "not told"
		if m.Rank > 0 {
			rank = fmt.Sprintf("number %d, %s", m.Rank, words.Percent(m.Said))
		}
		what := strings.TrimSpace(m.Cause + " " + m.Place)
		if m.Of != "" {
			what += ", the root of " + m.Of
		}
		lines = append(lines, fmt.Sprintf("%s: %s: %s", m.Case, what, rank))
	}
	return doc.Section{Heading: "Not among the first three", Parts: []doc.Part{doc.List(lines...)}}
}
