package engine

import (
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"telltale/engine/chances"
	"telltale/evidence"
	"telltale/rules"
)

// oracle enumerates the states of all causes of a small case straight from
// the book's meaning: which causes are there, what each of them and the
// background yields at each place. It shares no code with the model but
// Place.Touches and the priors' arithmetic, both tested on their own.
type oracle struct {
	evidence, none float64
	joint          []float64
	behind         []float64 // there, and shows at least one finding
	group          map[string]float64
}

func enumerate(m *chances.Model) oracle {
	n := len(m.Causes)
	o := oracle{joint: make([]float64, n), behind: make([]float64, n), group: map[string]float64{}}
	for state := range 1 << n {
		mass := 1.0
		for i, in := range m.Causes {
			if state>>i&1 == 1 {
				mass *= in.Prior
			} else {
				mass *= 1 - in.Prior
			}
		}
		for _, f := range m.Case.Findings {
			mass *= chanceOf(m, f, state)
		}
		o.evidence += mass
		groups := map[string]bool{}
		for i, in := range m.Causes {
			if state>>i&1 == 1 {
				o.joint[i] += mass
				o.behind[i] += mass - silentOf(m, 1<<i, state)
				groups[in.Cause.Group] = true
			}
		}
		for g := range groups {
			o.group[g] += mass
		}
		if state == 0 {
			o.none += mass
		}
	}
	return o
}

// silentOf is the mass of a state in which none of the chosen causes, though
// there, shows anything of what was found.
func silentOf(m *chances.Model, chosen, state int) float64 {
	mass := 1.0
	for j, in := range m.Causes {
		if state>>j&1 == 1 {
			mass *= in.Prior
		} else {
			mass *= 1 - in.Prior
		}
	}
	for _, f := range m.Case.Findings {
		mass *= chanceOf(m, f, state&^chosen)
		for i, in := range m.Causes {
			if state&chosen>>i&1 == 0 {
				continue
			}
			for _, place := range f.Over {
				for _, link := range in.Cause.LinksFor(m.Case, m.Book) {
					if link.Sign == f.Sign && in.Place.Touches(place) {
						mass *= 1 - link.Total
					}
				}
			}
		}
	}
	return mass
}

// chanceOf is P(finding | which causes are there).
func chanceOf(m *chances.Model, f evidence.Finding, state int) float64 {
	sign := m.Book.Signs.Get(f.Sign)
	silent, allowed := 1.0, 1.0
	for _, place := range f.Over {
		silent *= 1 - sign.Background
		allowed *= 1 - othersThan(sign, f.Kind, evenly(sign))
		for i, in := range m.Causes {
			if state>>i&1 == 0 || !in.Place.Touches(place) {
				continue
			}
			for _, link := range in.Cause.LinksFor(m.Case, m.Book) {
				if link.Sign == f.Sign {
					silent *= 1 - link.Total
					allowed *= 1 - othersThan(sign, f.Kind, link.Kinds)
				}
			}
		}
	}
	if f.Answer == evidence.Absent {
		return silent
	}
	return allowed - silent
}

func evenly(s *rules.Sign) []float64 {
	out := make([]float64, len(s.Kinds))
	for i := range out {
		out[i] = s.Background / float64(len(out))
	}
	return out
}

// othersThan is the chance of yielding a kind that contradicts the finding.
func othersThan(s *rules.Sign, kind string, chances []float64) float64 {
	total := 0.0
	for i, k := range s.Kinds {
		if kind != "" && k.ID != kind {
			total += chances[i]
		}
	}
	return total
}

func TestTheModelMeansWhatTheBookSays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawBook.Draw(t, "book")
		book := d.load()
		k := drawCase(t, d, book)
		m := chances.New(book, k)
		if len(m.Causes) > 12 {
			t.Skip("too many causes to enumerate")
		}
		want := enumerate(m)
		w, err := m.Weigh()
		if err == nil {
			checkBehind(t, w, want)
		}
		r, err := Diagnose(book, k)
		var impossible *chances.ImpossibleError
		if errors.As(err, &impossible) {
			if want.evidence > 1e-12 {
				t.Fatalf("called impossible, but its probability is %g", want.evidence)
			}
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		for i, in := range m.Causes {
			got := reported(t, r, in.Cause.ID, in.Place)
			near(t, got, want.joint[i]/want.evidence, in.Cause.ID)
		}
		for _, g := range r.Groups {
			near(t, g.Probability, want.group[g.Group]/want.evidence, g.Group)
		}
		near(t, r.NoneOfThese, want.none/want.evidence, "none")
	})
}

func checkBehind(t *rapid.T, w *chances.Weighed, want oracle) {
	present := false
	for _, f := range w.Case.Findings {
		present = present || f.Answer == evidence.Present
	}
	for i, got := range w.Behind() {
		expected := want.joint[i] / want.evidence
		if present {
			expected = want.behind[i] / want.evidence
		}
		near(t, got, expected, "behind")
	}
}

// near allows for the cancellation in the oracle's own subtraction.
func near(t *rapid.T, got, want float64, what string) {
	if math.Abs(got-want) > 1e-9 {
		t.Fatalf("%s: %.15g, the oracle says %.15g", what, got, want)
	}
}

func reported(t *rapid.T, r *Report, cause string, p evidence.Place) float64 {
	for _, c := range r.Causes {
		if c.Cause == cause && c.Cylinder == p.Cylinder && c.End == p.End {
			return c.Probability
		}
	}
	t.Fatalf("%s %s is not in the report", cause, p)
	return 0
}

func TestLawsOfTheReport(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawBook.Draw(t, "book")
		book := d.load()
		k := drawCase(t, d, book)
		r, err := Diagnose(book, k)
		if err != nil {
			t.Skip("impossible evidence")
		}
		best := map[string]float64{}
		for _, c := range r.Causes {
			if c.Probability < 0 || c.Probability > 1+1e-12 {
				t.Fatalf("%s has probability %g", c.Cause, c.Probability)
			}
			best[c.Group] = math.Max(best[c.Group], c.Probability)
		}
		for _, g := range r.Groups {
			if g.Probability < best[g.Group]-1e-12 || g.Probability > 1+1e-12 {
				t.Fatalf("group %s %g, its likeliest cause %g", g.Group, g.Probability, best[g.Group])
			}
		}
		turned := *k
		turned.Findings = nil
		for i := len(k.Findings) - 1; i >= 0; i-- {
			turned.Findings = append(turned.Findings, k.Findings[i])
		}
		again, err := Diagnose(book, &turned)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range r.Causes {
			p := reported(t, again, c.Cause, c.Place)
			if math.Abs(p-c.Probability) > 1e-12 {
				t.Fatalf("the order of the findings moves %s from %g to %g", c.Cause, c.Probability, p)
			}
		}
	})
}

// A book without backgrounds can hold findings to be impossible together;
// the report names them, and only them, with their places.
func TestImpossibleEvidenceNamesTheConflict(t *testing.T) {
	const text = `rulebook: {name: strict, version: "1"}
` + hasteLine + `planning: {least-gain: 0.01, basis: judgement}
` + smallScale + smallSafety + `signs:
  seen: {title: Seen, ask: Seen, of: pump, pump: any, background: 0, basis: judgement}
  other: {title: Other, ask: Other, of: pump, pump: any, basis: judgement}
causes:
  only: {title: Only, group: g, role: root, of: pump, how-common: c, shows: {seen: s}, why: x, repair: x, look-again: x, haste: {wait: planned-stop, because: x, basis: judgement}, basis: judgement}
`
	book := bookOf(t, text)
	k, err := evidence.ParseCase("case.yaml", []byte("pump: {action: triplex-single-acting, state: running}\nfindings: {other: present, seen: present}\nruled-out: [only]\n"), book.Vocabulary())
	require.NoError(t, err)
	_, err = Diagnose(book, k)
	var impossible *chances.ImpossibleError
	require.ErrorAs(t, err, &impossible)
	require.Len(t, impossible.Findings, 1)
	assert.ErrorContains(t, err, "case.yaml:2:34: seen: present")
}
