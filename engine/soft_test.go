package engine

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"telltale/engine/chances"
	"telltale/evidence"
	"telltale/rules"
)

// softChance is how well a measured finding agrees with a state of the causes,
// from its meaning: at one half or more, virtual evidence on whether the kind
// is shown at the place by any source (Pearl, Probabilistic Reasoning in
// Intelligent Systems, 1988, section 2.2.2, from memory); below it, each
// source that would show the kind goes unseen with the odds of the chance.
func softChance(m *chances.Model, f evidence.Finding, state int) float64 {
	sign := m.Book.Signs.Get(f.Sign)
	of := func(total float64, kinds []float64) float64 {
		if f.Kind == "" {
			return total
		}
		for i, k := range sign.Kinds {
			if k.ID == f.Kind {
				return kinds[i]
			}
		}
		return 0
	}
	sources := []float64{of(sign.Background, evenly(sign))}
	for i, in := range m.Causes {
		if state>>i&1 == 0 || !in.Place.Touches(f.Over[0]) {
			continue
		}
		for _, link := range in.Cause.LinksFor(m.Case, m.Book) {
			if link.Sign == f.Sign {
				sources = append(sources, of(link.Total, link.Kinds))
			}
		}
	}
	nobody, unseen := 1.0, 1.0
	for _, shows := range sources {
		nobody *= 1 - shows
		unseen *= 1 - shows + shows*f.Chance/(1-f.Chance)
	}
	if f.Chance >= 0.5 {
		return f.Chance*(1-nobody) + (1-f.Chance)*nobody
	}
	return unseen
}

// softPosterior enumerates the states of all causes.
func softPosterior(m *chances.Model) []float64 {
	out, total := make([]float64, len(m.Causes)), 0.0
	for state := range 1 << len(m.Causes) {
		mass := 1.0
		for i, in := range m.Causes {
			if state>>i&1 == 1 {
				mass *= in.Prior
			} else {
				mass *= 1 - in.Prior
			}
		}
		for _, f := range m.Case.Findings {
			if f.Measured {
				mass *= softChance(m, f, state)
			} else {
				mass *= chanceOf(m, f, state)
			}
		}
		total += mass
		for i := range m.Causes {
			if state>>i&1 == 1 {
				out[i] += mass
			}
		}
	}
	for i := range out {
		out[i] /= total
	}
	return out
}

// drawMeasured draws findings from readings for a case.
func drawMeasured(t *rapid.T, book *rules.Book, k *evidence.Case, chance *rapid.Generator[float64]) []evidence.Finding {
	var out []evidence.Finding
	for range rapid.IntRange(1, 4).Draw(t, "measured") {
		s := rapid.SampledFrom(book.Signs.List).Draw(t, "sign")
		f := evidence.Finding{Sign: s.ID, Measured: true, Answer: evidence.Absent, Chance: chance.Draw(t, "chance")}
		f.At = rapid.SampledFrom(k.Pump.Places(s.Level)).Draw(t, "place")
		f.Over = []evidence.Place{f.At}
		if len(s.Kinds) > 0 && rapid.Bool().Draw(t, "of a kind") {
			f.Kind = rapid.SampledFrom(s.KindIDs()).Draw(t, "kind")
		}
		if f.Chance >= 0.5 {
			f.Answer = evidence.Present
		}
		out = append(out, f)
	}
	return out
}

func TestMeasuredFindingsAreExact(t *testing.T) {
	chance := rapid.SampledFrom([]float64{0.01, 0.1, 0.3, 0.49, 0.5, 0.51, 0.7, 0.9, 0.99})
	rapid.Check(t, func(t *rapid.T) {
		d := drawBook.Draw(t, "book")
		book := d.load()
		k := drawCase(t, d, book)
		k.Findings = append(k.Findings, drawMeasured(t, book, k, chance)...)
		m := chances.New(book, k)
		if len(m.Causes) > 12 {
			t.Skip("too many causes to enumerate")
		}
		w, err := m.Weigh()
		if err != nil {
			t.Skip("impossible evidence")
		}
		want := softPosterior(m)
		for i, in := range m.Causes {
			near(t, w.Posterior[i], want[i], in.Cause.ID+" "+in.Place.String())
		}
	})
}

// A reading at the very threshold says nothing.
func TestAChanceOfOneHalfChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawBook.Draw(t, "book")
		book := d.load()
		k := drawCase(t, d, book)
		before, err := chances.New(book, k).Weigh()
		if err != nil {
			t.Skip("impossible evidence")
		}
		with := *k
		with.Findings = append(append([]evidence.Finding{}, k.Findings...), drawMeasured(t, book, k, rapid.Just(0.5))...)
		after, err := chances.New(book, &with).Weigh()
		if err != nil {
			t.Fatal(err)
		}
		for i := range before.Posterior {
			if math.Abs(before.Posterior[i]-after.Posterior[i]) > 1e-12 {
				t.Fatalf("cause %d moves from %g to %g", i, before.Posterior[i], after.Posterior[i])
			}
		}
	})
}

// softBook has a cause that alone shows a sign, and one that shares another
// sign with it.
func softBook(t require.TestingT, prior, shows, background, shared float64) *rules.Book {
	text := fmt.Sprintf(`rulebook: {name: soft, version: "1"}
`+hasteLine+`planning: {least-gain: 0.01, basis: judgement}
scale: {how-common: {c: %g}, shows: {s: 0.5}, finds: {f: 0.9}, background: {usual: 0.01}, basis: judgement}
groups: {g: {title: G, basis: judgement}}
`+smallSafety+`signs:
  seen: {title: Seen, ask: Seen, of: pump, pump: any, kinds: {low: low, high: high}, background: %g, basis: judgement}
  noise: {title: Noise, ask: Noise, of: pump, pump: any, basis: judgement}
causes:
  one: {title: One, group: g, role: root, of: pump, how-common: c, shows: {seen: {low: %g}, noise: %g}, why: x, repair: x, look-again: x, haste: {wait: planned-stop, because: x, basis: judgement}, basis: judgement}
  two: {title: Two, group: g, role: root, of: pump, how-common: c, shows: {noise: %g}, why: x, repair: x, look-again: x, haste: {wait: planned-stop, because: x, basis: judgement}, basis: judgement}
`, prior, background, shows, shared, shared)
	book := bookOf(t, text)
	return book
}

// softOdds weighs one reading with a chance that "seen: low" is there, beside
// noise that was heard if heard is set; it gives the odds of the cause that shows it.
func softOdds(t require.TestingT, book *rules.Book, chance float64, heard bool) float64 {
	k := rules.BareCase(evidence.Triplex)
	f := evidence.Finding{Sign: "seen", Kind: "low", Measured: true, Chance: chance, Over: []evidence.Place{{}}, Answer: evidence.Absent}
	if chance >= 0.5 {
		f.Answer = evidence.Present
	}
	k.Findings = []evidence.Finding{f}
	if heard {
		k.Findings = append(k.Findings, evidence.Finding{Sign: "noise", Answer: evidence.Present, Over: []evidence.Place{{}}})
	}
	w, err := chances.New(book, k).Weigh()
	require.NoError(t, err)
	return w.Odds[0]
}

func TestMoreChanceNeverMeansLess(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		book := softBook(t, rapid.Float64Range(0.01, 0.5).Draw(t, "prior"), rapid.Float64Range(0.05, 0.95).Draw(t, "shows"),
			rapid.SampledFrom([]float64{0, 0.001, 0.02, 0.1}).Draw(t, "background"), rapid.Float64Range(0.05, 0.95).Draw(t, "shared"))
		heard := rapid.Bool().Draw(t, "heard")
		a, b := rapid.Float64Range(0.005, 0.995).Draw(t, "a"), rapid.Float64Range(0.005, 0.995).Draw(t, "b")
		low, high := softOdds(t, book, min(a, b), heard), softOdds(t, book, max(a, b), heard)
		if low > high*(1+1e-9) {
			t.Fatalf("chance %g gives odds %g, chance %g gives %g", min(a, b), low, max(a, b), high)
		}
	})
}

// By hand: prior 1/5, so odds 1/4; the cause shows it in 6 of 10, nothing else
// does. At .9 the ratio is (.9 x .6 + .1 x .4)/.1 = 5.8, odds 1.45. At .1 it is
// (.1 x .6 + .9 x .4)/.9 = 7/15, odds 7/60. For one source virtual evidence and
// the thinning below one half are the same.
func TestOneSourceByHand(t *testing.T) {
	book := softBook(t, 0.2, 0.6, 0, 0.5)
	assert.InEpsilon(t, 1.45, softOdds(t, book, 0.9, false), 1e-12)
	assert.InEpsilon(t, 7.0/60, softOdds(t, book, 0.1, false), 1e-12)
	assert.InEpsilon(t, 0.25, softOdds(t, book, 0.5, false), 1e-12)
}

// With a background of 1/10 shared by two kinds: P(low | cause) = 1 - .4 x .95
// = .62, without it .05. At .9: (.9 x .62 + .1 x .38)/(.9 x .05 + .1 x .95) =
// .596/.14. At .1, u = 1/9: each source goes unseen with 1/9, and the
// background's factor cancels: 1 - .6 x 8/9 = 7/15.
func TestASourceBesideTheBackgroundByHand(t *testing.T) {
	book := softBook(t, 0.2, 0.6, 0.1, 0.5)
	assert.InEpsilon(t, 0.25*0.596/0.14, softOdds(t, book, 0.9, false), 1e-12)
	assert.InEpsilon(t, 0.25*7/15, softOdds(t, book, 0.1, false), 1e-12)
}

// Whatever the rest, one reading moves the odds of a cause by no more than its
// own: p/(1-p).
func TestAReadingMovesTheOddsByNoMoreThanItsOwn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		prior, chance := rapid.Float64Range(0.01, 0.5).Draw(t, "prior"), rapid.Float64Range(0.01, 0.99).Draw(t, "chance")
		book := softBook(t, prior, rapid.Float64Range(0.05, 0.95).Draw(t, "shows"), rapid.SampledFrom([]float64{0, 0.001, 0.02, 0.1}).Draw(t, "background"), 0.5)
		moved := softOdds(t, book, chance, false) / (prior / (1 - prior))
		most := math.Max(chance/(1-chance), (1-chance)/chance)
		if moved > most*(1+1e-9) || moved < 1/most*(1-1e-9) {
			t.Fatalf("a chance of %g moves the odds by %g", chance, moved)
		}
	})
}
