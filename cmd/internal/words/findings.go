package words

import (
	"strconv"
	"strings"

	"telltale/engine"
	"telltale/engine/chances"
	"telltale/evidence"
)

// Findings, and what points to them, in words.

// Finding says a finding: "Wiper leaks: again (2)".
func Finding(f chances.Finding) string {
	if f.Check != "" {
		return "nothing found: " + chances.LowerFirst(f.Title) + in(f.Places...)
	}
	switch f.Answer {
	case chances.Cured:
		return f.Title + in(f.Places...) + ", and it helped"
	case chances.NotCured:
		return f.Title + in(f.Places...) + ", and it did not help"
	}
	what := f.Title
	if f.Answer == string(evidence.Absent) {
		what = "no: " + chances.LowerFirst(what)
	}
	if f.Kind != "" {
		what += ": " + f.KindTitle
	}
	switch {
	case f.InDoubt:
		what = "measured, in doubt: " + chances.LowerFirst(what)
	case f.Measured:
		what = "measured: " + chances.LowerFirst(what)
	}
	return what + in(f.Places...)
}

// Weight is one finding with its weight for or against a cause, in decibans.
type Weight struct {
	Text     string
	Decibans float64
}

// Weights says reasons; found is the list of findings that they point to.
func Weights(found []chances.Finding, reasons []chances.Reason) []Weight {
	var out []Weight
	for _, r := range reasons {
		out = append(out, Weight{Text: Finding(found[r.Finding-1]), Decibans: r.Decibans})
	}
	return out
}

// Weighed is a cause with what speaks for and against it.
type Weighed struct {
	Title string
	evidence.Place
	Chance       float64
	For, Against []Weight
}

// WeighedCause says what speaks for and against a cause of a report.
func WeighedCause(r *engine.Report, c chances.Cause) Weighed {
	return Weighed{Title: c.Title, Place: c.Place, Chance: c.Probability, For: Weights(r.Found, c.For), Against: Weights(r.Found, c.Against)}
}

// Sides gives what speaks for the cause and what against it, at most so many of
// each.
func (w *Weighed) Sides(most int) []Side {
	return []Side{{"for", w.For[:min(len(w.For), most)]}, {"against", w.Against[:min(len(w.Against), most)]}}
}

// Side is what speaks for a cause, or what against it.
type Side struct {
	Way     string
	Weights []Weight
}

// Unexplained says what the proved causes do not explain: each finding at the places
// where they do not.
func Unexplained(r *engine.Report) []string {
	var out []string
	for _, same := range Alike(r.Unexplained, func(u chances.Unexplained) string { return strconv.Itoa(u.Finding) }) {
		f := r.Found[same[0].Finding-1]
		f.Places, f.Measured, f.InDoubt = nil, false, false
		for _, u := range same {
			f.Places = append(f.Places, u.Place)
		}
		out = append(out, Finding(f))
	}
	return out
}

// Contradiction says which two words of a case do not go together.
func Contradiction(c chances.Contradiction) string {
	but := "this is confirmed"
	if c.Sign != "" {
		but = "the case says"
	}
	said := chances.LowerFirst(c.Title)
	if c.Kind != "" {
		said += ": " + c.KindTitle
	}
	return strconv.Quote(chances.LowerFirst(c.CheckTitle)) + " found nothing" + in(c.Place) + ", but " + but + ": " + said + in(c.At) + ". Which stands?"
}

// in names places in brackets behind a blank; nothing for the whole pump.
func in(places ...evidence.Place) string {
	var names []string
	for _, p := range places {
		if p != (evidence.Place{}) {
			names = append(names, p.String())
		}
	}
	if len(names) == 0 {
		return ""
	}
	return " (" + strings.Join(names, ", ") + ")"
}
