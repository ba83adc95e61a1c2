package engine

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"telltale/engine/chances"
	"telltale/engine/figures"
	"telltale/evidence"
	"telltale/rules"
)

const overloaded = "pump: {action: triplex-single-acting, state: running, liner: 6 1/2 in, stroke: 12 in, speed: 130 strokes/min, discharge: 3400 psi}\n" +
	"manual: {liner-rated-pressure: 3000 psi, relief-setting: 4000 psi, speed-most: 110 strokes/min, rod-load-most: 100000 lbf}\n"

func parseCase(t *testing.T, book *rules.Book, text string) *evidence.Case {
	t.Helper()
	k, err := evidence.ParseCase("case.yaml", []byte(text), book.Vocabulary())
	require.NoError(t, err, text)
	return k
}

func stopIDs(stops []chances.Stop) []string {
	var out []string
	for _, s := range stops {
		out = append(out, s.ID)
	}
	return out
}

// A known overload is said by everything that answers: the stops hold with both
// figures in their titles, also where the rest cannot be answered, and overload
// comes first.
func TestAKnownOverloadIsSaid(t *testing.T) {
	book := builtIn(t)
	want := []string{"over-rated-pressure", "over-rod-load", "over-speed", "relief-set-too-high"}
	k := parseCase(t, book, overloaded+"findings: {load-high: present}\n")
	diagnosed, err := Diagnose(book, k)
	require.NoError(t, err)
	outlined, err := Outline(book, k)
	require.NoError(t, err)
	measured, err := Measure(book, k)
	require.NoError(t, err)
	plan, err := PlanTeardown(book, k, nil)
	require.NoError(t, err)
	for name, r := range map[string]*Report{"Diagnose": diagnosed, "Outline": outlined, "Measure": measured, "PlanTeardown": plan.Report} {
		assert.ElementsMatch(t, want, stopIDs(r.Stop), name)
		for _, s := range r.Stop {
			if s.ID == "over-rated-pressure" {
				assert.Contains(t, s.Title, "discharge pressure 3400 psi (234.4 bar), rated pressure of the liner fitted 3000 psi (206.8 bar)", name)
				assert.Equal(t, string(rules.AtOnce), s.By)
			}
		}
		assert.Len(t, r.Ratings, 5, name)
	}
	assert.Equal(t, "overload", diagnosed.Causes[0].Cause)
	assert.Equal(t, "stop-pump", diagnosed.Steps[0].ID)
	ranked, err := chances.NewRanker(book).Rank(k, 0.01)
	require.NoError(t, err)
	assert.ElementsMatch(t, want, ranked.Stop)
	assert.Equal(t, "overload", ranked.Causes[0].Cause)
}

// A case that is refused, and one whose sizes cannot be, still says the stops.
func TestRatingsAreSaidWithoutAnAnswer(t *testing.T) {
	book := builtIn(t)
	against := parseCase(t, book, overloaded+"measured: {upper-guide: {2: {resolution: 1 thou, rear: 3 thou}}}\nfindings: {guide-clearance: {absent: [2]}}\ntaken: at-last-stop\n")
	short := parseCase(t, book, overloaded)
	short.Pump.ConnectingRod = &evidence.Quantity{Dimension: evidence.Length, SI: short.Pump.Stroke.SI * .51, Written: "6.1 in"} // a file with it is refused
	for name, k := range map[string]*evidence.Case{"the crew's word against a reading": against, "no such connecting rod": short} {
		r, err := Diagnose(book, k)
		require.Error(t, err, name)
		assert.Contains(t, stopIDs(r.Stop), "over-rated-pressure", name)
		ranked, err := chances.NewRanker(book).Rank(k, 0.01)
		require.Error(t, err, name)
		assert.Contains(t, ranked.Stop, "over-rated-pressure", name)
	}
}

// Near is no stop, but it is said, in the short answer too.
func TestNearARatingIsNoStop(t *testing.T) {
	book := builtIn(t)
	k := parseCase(t, book, "pump: {action: duplex-double-acting, state: stopped, discharge: 2960 psi}\nmanual: {liner-rated-pressure: 3000 psi}\nfindings: {load-high: present}\n")
	r, err := Diagnose(book, k)
	require.NoError(t, err)
	assert.Empty(t, r.Stop)
	require.Len(t, r.Ratings, 1)
	assert.Equal(t, figures.Near, r.Ratings[0].Stand)
	ranked, err := chances.NewRanker(book).Rank(k, 0.01)
	require.NoError(t, err)
	assert.Equal(t, []string{"liner-pressure"}, ranked.Near)
	assert.Empty(t, ranked.Stop)
}

// One pressure that is past two ratings is one witness, not two.
func TestOnePressureIsOneWitness(t *testing.T) {
	book := builtIn(t)
	chance := func(manual string) float64 {
		r, err := Diagnose(book, parseCase(t, book, "pump: {action: triplex-single-acting, state: running, discharge: 3400 psi}\nmanual: "+manual+"\nfindings: {load-high: present}\n"))
		require.NoError(t, err)
		require.Equal(t, "overload", r.Causes[0].Cause)
		return r.Causes[0].Probability
	}
	assert.InDelta(t, chance("{liner-rated-pressure: 3000 psi}"), chance("{liner-rated-pressure: 3000 psi, fluid-end-rated-pressure: 3100 psi}"), 1e-9)
}

// Raising what the pump runs at never takes a stop away, nor does lowering a
// rating.
func TestRaisingThePressureNeverTakesAStopAway(t *testing.T) {
	book := builtIn(t)
	rapid.Check(t, func(t *rapid.T) {
		size := rapid.SampledFrom([]string{
			"action: triplex-single-acting, liner: 6 1/2 in, stroke: 12 in", "action: duplex-double-acting, liner: 165 mm, stroke: 18 in, piston-rod: 2.5 in",
			"action: triplex-single-acting, liner: 6 in", "action: duplex-double-acting",
		}).Draw(t, "size")
		state := rapid.SampledFrom(evidence.PumpStates()).Draw(t, "state")
		limits := map[string]int{}
		for id, unit := range map[string]string{
			"liner-rated-pressure": "psi", "fluid-end-rated-pressure": "psi", "line-rated-pressure": "psi", "relief-setting": "psi",
			"rod-load-most": "lbf", "power-most": "hp", "speed-most": "strokes/min",
		} {
			most := map[string]int{"psi": 6000, "lbf": 150000, "hp": 2000, "strokes/min": 150}[unit]
			if x := rapid.IntRange(0, most).Draw(t, id); x > 0 {
				limits[id+": %d "+unit] = x
			}
		}
		stops := func(discharge, strokes, less int) []string {
			text := fmt.Sprintf("pump: {%s, state: %s, discharge: %d psi, speed: %d strokes/min}\nmanual: {", size, state, discharge, strokes)
			for form, x := range limits {
				if !strings.HasPrefix(form, "relief-setting") {
					x = max(1, x-less)
				}
				text += fmt.Sprintf(form, x) + ", "
			}
			text += "}\n"
			k, err := evidence.ParseCase("drawn.yaml", []byte(text), book.Vocabulary())
			require.NoError(t, err, text)
			r, err := Measure(book, k)
			require.NoError(t, err, text)
			return stopIDs(r.Stop)
		}
		discharge, strokes := rapid.IntRange(1, 6000).Draw(t, "discharge"), rapid.IntRange(1, 150).Draw(t, "strokes")
		before := stops(discharge, strokes, 0)
		for _, after := range [][]string{
			stops(discharge+rapid.IntRange(0, 3000).Draw(t, "more pressure"), strokes, 0),
			stops(discharge, strokes+rapid.IntRange(0, 100).Draw(t, "more strokes"), 0),
			stops(discharge, strokes, rapid.IntRange(0, 3000).Draw(t, "less rated")),
		} {
			for _, id := range before {
				require.True(t, slices.Contains(after, id), "%s is gone: %v, then %v", id, before, after)
			}
		}
	})
}
