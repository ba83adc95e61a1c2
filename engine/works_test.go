package engine

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine/chances"
	"telltale/evidence"
)

// sandBook has a valve that is cut by itself or by sand, a spring that no work
// puts right, and a job on the valves that can bring the broken spring on.
const sandBook = `rulebook: {name: sand, version: "1"}
` + hasteLine + `planning: {least-gain: 0.01, basis: judgement}
scale: {how-common: {c: 0.1, d: 0.2, e: 0.3}, shows: {s: 0.5, t: 0.8}, finds: {f: 0.9, h: 0.5}, background: {usual: 0.05, rare: 0.02}, basis: judgement}
groups: {g: {title: G, basis: judgement}}
works:
  valve-job: {title: Valve job, puts-right: {cut: f, sand: h}, background: rare, basis: judgement}
  other-job: {title: Other job, basis: judgement}
` + smallSafety + `signs:
  hiss: {title: Hiss, ask: Hiss, of: pump, pump: any, basis: judgement}
  grit: {title: Grit, ask: Grit, of: pump, pump: any, basis: judgement}
causes:
  cut: {title: Cut, group: g, role: failure, of: pump, how-common: c, shows: {hiss: t}, why: x, repair: x, look-again: x, haste: {wait: planned-stop, because: x, basis: judgement}, basis: judgement}
  sand: {title: Sand, group: g, role: root, of: pump, how-common: d, shows: {grit: s}, brings: [{cause: cut, how-often: s, basis: judgement}], why: x, repair: x, look-again: x, haste: {wait: planned-stop, because: x, basis: judgement}, basis: judgement}
  spring: {title: Spring, group: g, role: root, of: pump, how-common: e, odds: [{when: recent("valve-job"), times: 4, basis: judgement}], shows: {hiss: s}, why: x, repair: x, look-again: x, haste: {wait: planned-stop, because: x, basis: judgement}, basis: judgement}
`

// byHand enumerates the 16 states of the book above: cut by itself, sand, cut by
// sand, spring. helped is what the case says of the job; nil: nothing.
func byHand(springOdds float64, helped *bool) map[string]float64 {
	total, out := 0.0, map[string]float64{}
	for state := range 16 {
		own, sand, bySand, spring := state&1 > 0, state&2 > 0, state&4 > 0, state&8 > 0
		p := choose(own, 0.1) * choose(sand, 0.2) * choose(spring, 0.3*springOdds/(0.7+0.3*springOdds))
		switch {
		case sand:
			p *= choose(bySand, 0.5)
		case bySand:
			continue
		}
		silent, notHelped := 0.95, 0.98
		for _, cut := range []bool{own, bySand} {
			if cut {
				silent, notHelped = silent*0.2, notHelped*(1-0.9)
			}
		}
		if spring {
			silent *= 0.5
		}
		if sand {
			notHelped *= 1 - 0.5
		}
		p *= 1 - silent
		if helped != nil {
			p *= choose(*helped, 1-notHelped)
		}
		total += p
		for cause, there := range map[string]bool{"cut": own || bySand, "sand": sand, "spring": spring} {
			if there {
				out[cause] += p
			}
		}
	}
	for cause := range out {
		out[cause] /= total
	}
	return out
}

func choose(there bool, p float64) float64 {
	if there {
		return p
	}
	return 1 - p
}

// What a case says of a work is weighed just as the book means it: by every state
// written out.
func TestAWorkThatHelpedOrDidNotIsWeighedExactly(t *testing.T) {
	book := bookOf(t, sandBook)
	yes, no := true, false
	for recent, want := range map[string]map[string]float64{
		"":                                                      byHand(1, nil),
		"recent: [valve-job]":                                   byHand(4, nil),
		"recent: [other-job: {cured: no}]":                      byHand(1, nil),
		"recent: valve-job: {cured: no}":                        nil, // no YAML
		"recent: [valve-job: {cured: no}]":                      byHand(1, &no),
		"recent: [valve-job: {cured: yes}]":                     byHand(1, &yes),
		"recent: {valve-job: {cured: no}}":                      byHand(1, &no),
		"recent: [valve-job: ]":                                 byHand(4, nil),
		"recent: [valve-job: {}]":                               byHand(4, nil),
		"recent: [valve-job: {at: 2}]":                          byHand(4, nil),
		"recent: [valve-job: {cured: no, at: 2}]":               byHand(1, &no),
		"recent: [valve-job: {done: after-trouble}]":            byHand(1, nil),
		"recent: [valve-job: {done: before-trouble}]":           byHand(4, nil),
		"recent: [valve-job, valve-job: {cured: no}]":           byHand(4, &no),
		"recent: [valve-job: {done: after-trouble, cured: no}]": byHand(1, &no),
	} {
		t.Run(recent, func(t *testing.T) {
			k, err := evidence.ParseCase("case.yaml", []byte("pump: {action: triplex-single-acting, state: running}\nfindings: {hiss: present}\n"+recent+"\n"), book.Vocabulary())
			if want == nil {
				require.Error(t, err)
				return
			}
			require.NoError(t, err)
			w, err := chances.New(book, k).Weigh()
			require.NoError(t, err)
			for i, in := range w.Causes {
				assert.InDelta(t, want[in.Cause.ID], w.Posterior[i], 1e-12, in.Cause.ID)
			}
		})
	}
	assert.Less(t, byHand(1, &no)["cut"], byHand(1, nil)["cut"])
}

// "Changed the valves, and it did not help" stands among the reasons, with its
// weight: 10 log10 of the odds with it over those without.
func TestAWorkThatDidNotHelpIsAReason(t *testing.T) {
	book, k := builtInCase(t, triplexRunning+"recent: [valves-changed: {at: 2, cured: no}]\nfindings: {hiss: {2: discharge-stroke, absent: others}}")
	r, err := Diagnose(book, k)
	require.NoError(t, err)
	last := r.Found[len(r.Found)-1]
	assert.Equal(t, chances.Finding{Number: len(r.Found), Work: "valves-changed", Title: "Valves or seats changed", Answer: "not-cured", Places: []evidence.Place{{Cylinder: "2"}}}, last)
	assert.Equal(t, []string{"Valves or seats changed (2), after the trouble began, and it did not help"}, r.Pump.Recent)
	k.Recent = nil
	before, err := Diagnose(book, k)
	require.NoError(t, err)
	chanceOf := func(r *Report, cause string) (p float64) {
		for _, c := range r.Causes {
			if c.Cause == cause && c.Place.Cylinder == "2" {
				p = c.Probability
			}
		}
		return p
	}
	was, is := chanceOf(before, "suction-valve-cut"), chanceOf(r, "suction-valve-cut")
	require.Less(t, is, was)
	for _, c := range r.Causes {
		if c.Cause == "suction-valve-cut" && c.Place.Cylinder == "2" {
			i := len(c.Against) - 1
			for ; i >= 0 && c.Against[i].Finding != last.Number; i-- {
			}
			require.GreaterOrEqual(t, i, 0)
			assert.InDelta(t, 10*math.Log10(is/(1-is)*(1-was)/was), c.Against[i].Decibans, 1e-6)
		}
	}
}

// A work that only a local book knows says nothing by the built-in book alone.
func TestAWorkOfALocalBook(t *testing.T) {
	book, err := loadLocal(`rulebook: {name: local, version: "1"}
works: {seats-ground: {title: Seats ground, puts-right: {suction-valve-cut: usually}, background: usual, basis: judgement}}
`)
	require.NoError(t, err)
	k := parseCase(t, book, triplexRunning+"recent: [seats-ground: {cured: no}]\nfindings: {hiss: {2: discharge-stroke}, knock: every-cylinder}\n")
	r, err := Diagnose(book, k)
	require.NoError(t, err)
	assert.Equal(t, "seats-ground", r.Found[len(r.Found)-1].Work)
	assert.NotNil(t, r.Haste)
}
