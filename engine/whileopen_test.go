package engine

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine/work"
	"telltale/evidence"
)

// handBook has chances, minutes and sureness that can be reckoned by hand.
// Coming back for a look behind the door costs 2 + 5 + 3 to stop and isolate,
// 10 to open, 7 to close and 9 to return: 36 minutes; behind the inner door 46.
const handBook = `rulebook: {name: by hand, version: "1"}
` + hasteLine + `planning: {least-gain: 0.1, basis: judgement}
` + smallScale + timedSafety + `openings:
  door: {title: D, of: pump, needs: [], safety: [], minutes: 10, do: x, close: {title: C, minutes: 7, do: x}, basis: judgement}
  inner: {title: I, of: pump, needs: [door], safety: [], minutes: 4, do: x, close: {title: C, minutes: 6, do: x}, basis: judgement}
signs:
  seen: {title: Seen, ask: Seen, of: pump, pump: any, background: 0.01, basis: judgement}
causes:
  a: {title: A, group: g, role: root, of: pump, how-common: 0.3, shows: {}, why: x, repair: x, look-again: x, haste: {wait: planned-stop, because: x, basis: judgement}, basis: judgement}
  b: {title: B, group: g, role: root, of: pump, how-common: 0.2, shows: {}, why: x, repair: x, look-again: x, haste: {wait: planned-stop, because: x, basis: judgement}, basis: judgement}
  c: {title: C, group: g, role: root, of: pump, how-common: 0.5, shows: {}, why: x, repair: x, look-again: x, haste: {wait: planned-stop, because: x, basis: judgement}, basis: judgement}
  d: {title: D, group: g, role: root, of: pump, how-common: 0.1, shows: {}, why: x, repair: x, look-again: x, haste: {wait: planned-stop, because: x, basis: judgement}, basis: judgement}
checks:
  look-a: {title: T, of: pump, pump: isolated, openings: [door], minutes: 5, do: x, finds: {a: 0.9}, results: [], basis: judgement}
  look-b: {title: T, of: pump, pump: isolated, openings: [door], minutes: 3, do: x, finds: {b: 0.5}, results: [], basis: judgement}
  slow-b: {title: T, of: pump, pump: isolated, openings: [door], minutes: 4, do: x, finds: {b: 0.5}, results: [], basis: judgement}
  two: {title: T, of: pump, pump: isolated, openings: [door], minutes: 1, do: x, finds: {d: 0.5, a: 0.05}, results: [], basis: judgement}
  look-c: {title: T, of: pump, pump: isolated, openings: [inner, door], minutes: 2, do: x, finds: {c: 0.9}, results: [], basis: judgement}
  told: {title: T, of: pump, pump: isolated, openings: [door], answers: [seen], minutes: 1, do: x, finds: {c: 0.9}, results: [], basis: judgement}
  done: {title: T, of: pump, pump: isolated, openings: [door], minutes: 1, do: x, finds: {c: 0.1}, results: [], basis: judgement}
  ran: {title: T, of: pump, pump: running, minutes: 1, do: x, finds: {c: 0.9}, results: [], basis: judgement}
return:
  back: {title: Back, do: x, minutes: 9, basis: judgement}
teardown: {parts-from: 0.1, look-worth: 1, most-looks: 0, minutes-low: 0.5, minutes-high: 2, basis: judgement}
`

// What is worth a look while it is open. With a in the list, look-a leaves 0.1
// of it for the check two: 0.1*0.5 + 0.3*0.1*0.05 = 0.0515, times 36 is more
// than 1 minute. look-b: 0.2*0.5*36 = 3.6, more than its 3 minutes, less than
// the 4 of slow-b. What is behind the inner door, told, done or seen on the
// running pump only is not in it.
func TestWhileOpenByHand(t *testing.T) {
	book := bookOf(t, handBook)
	two, lookB := work.Extra{Check: "two", Chance: 0.0515, Minutes: 1}, work.Extra{Check: "look-b", Chance: 0.1, Minutes: 3}
	for name, c := range map[string]struct {
		pump, known, named string
		want               []work.Extra // best first
	}{
		"a is named":        {"state: stopped", "checked: {done: nothing}", "a", []work.Extra{two, lookB}},
		"the door is open":  {"state: isolated, open: [door]", "checked: {done: nothing}", "a", []work.Extra{two, lookB}},
		"b is proved":       {"state: stopped", "checked: {done: nothing}\nconfirmed: [b]", "a", []work.Extra{two}},
		"two found nothing": {"state: running", "checked: {done: nothing, two: nothing}\ntaken: at-last-stop", "a", []work.Extra{lookB}},
		"c is named": {"state: stopped", "checked: {done: nothing}", "c", []work.Extra{
			{Check: "look-a", Chance: 0.27, Minutes: 5}, {Check: "two", Chance: 0.1*0.5 + 0.3*0.05, Minutes: 1}, lookB}},
		"nothing is opened": {"state: stopped", "checked: {look-a: nothing}", "a", nil},
	} {
		t.Run(name, func(t *testing.T) {
			text := "pump: {action: triplex-single-acting, " + c.pump + "}\nfindings: {seen: absent}\n" + c.known + "\n"
			k, err := evidence.ParseCase("case.yaml", []byte(text), book.Vocabulary())
			require.NoError(t, err)
			plan, err := PlanTeardown(book, k, []evidence.At{{ID: c.named}})
			require.NoError(t, err)
			require.Len(t, plan.WhileOpen, len(c.want), "%+v", plan.WhileOpen)
			for i, want := range c.want {
				got := plan.WhileOpen[i]
				assert.Equal(t, want.Check, got.Check)
				assert.InDelta(t, want.Chance, got.Chance, 1e-12, want.Check)
				assert.InDelta(t, want.Minutes, got.Minutes, 1e-12, want.Check)
				assert.InDelta(t, 36.0, got.ComeBack, 1e-12, want.Check)
			}
		})
	}
}

// With a twentieth of its minutes as the least worth, looks that do not pay are
// named behind those that do, as many as the book allows: slow-b saves 3.6 of
// its 4 minutes. What is already told by the case stays out, whatever its worth.
func TestLooksThatDoNotPayByHand(t *testing.T) {
	for name, c := range map[string]struct {
		worth string
		most  string
		want  []string
	}{
		"none":     {"0.05", "0", []string{"two", "look-b"}},
		"one":      {"0.05", "1", []string{"two", "look-b", "slow-b"}},
		"too dear": {"0.95", "6", []string{"two", "look-b"}},
	} {
		t.Run(name, func(t *testing.T) {
			text := strings.Replace(handBook, "look-worth: 1, most-looks: 0", "look-worth: "+c.worth+", most-looks: "+c.most, 1)
			book := bookOf(t, text)
			k, err := evidence.ParseCase("case.yaml", []byte("pump: {action: triplex-single-acting, state: stopped}\nfindings: {seen: absent}\nchecked: {done: nothing}\n"), book.Vocabulary())
			require.NoError(t, err)
			plan, err := PlanTeardown(book, k, []evidence.At{{ID: "a"}})
			require.NoError(t, err)
			var got []string
			for i, e := range plan.WhileOpen {
				got = append(got, e.Check)
				assert.Equal(t, i < 2, e.Pays, e.Check)
				assert.NotEmpty(t, e.Looks, e.Check)
			}
			assert.Equal(t, c.want, got)
		})
	}
}

// The plans of the built-in book have looks to offer behind what they open:
// common practice, no source. Each needs nothing more opened.
func TestPlansOfTheBuiltInBookOfferLooks(t *testing.T) {
	for name, text := range map[string]string{
		"wiper again":  "pump: {action: triplex-single-acting, state: running}\nfindings: {wiper-leaks: {again: [2]}, rod-worn: {2: underside}}\n",
		"broken rod":   "pump: {action: triplex-single-acting, state: stopped}\nfindings: {rod-broken: {present: [3]}}\n",
		"packing":      "pump: {action: duplex-double-acting, state: stopped}\nfindings: {packing-fails-early: {present: [left]}}\n",
		"worn pistons": "pump: {action: triplex-single-acting, state: stopped}\nfindings: {pistons-fail-often: {one-sided: [1]}}\n",
	} {
		t.Run(name, func(t *testing.T) {
			book, k := builtInCase(t, text)
			plan, err := PlanTeardown(book, k, nil)
			require.NoError(t, err)
			require.NotEmpty(t, plan.WhileOpen)
			for _, e := range plan.WhileOpen {
				for _, id := range book.Checks.Get(e.Check).Openings {
					assert.True(t, book.IsOpen(id, e.Place, openedBy(plan)), "%s needs %s", e.Check, id)
				}
			}
		})
	}
}

// A piston in for 1380 h of an expected 700 is named where the plan takes it
// out, not where the cylinder stays shut; nor is one within its life.
func TestPartsPastTheirLifeByHand(t *testing.T) {
	record := "parts: {piston: {from: 4000 h, to: 6000 h, expected-life: 700 h, changed-at: {1: [4620 h], 2: [4620 h], 3: [5700 h]}}}\n"
	for name, c := range map[string]struct {
		known, named string
		want         []work.Worn
	}{
		"piston out":    {record, "liner-scored", []work.Worn{{Part: "piston", Place: evidence.Place{Cylinder: "2"}, Title: "Piston", Hours: 1380, Life: 700, By: "expected-life"}}},
		"cylinder shut": {record, "extension-rod-not-seated", []work.Worn{}},
		"within it":     {strings.Replace(record, "700 h", "1400 h", 1), "liner-scored", []work.Worn{}},
		"no life known": {strings.Replace(record, "expected-life: 700 h, ", "", 1), "extension-rod-not-seated", []work.Worn{}},
	} {
		t.Run(name, func(t *testing.T) {
			book, k := builtInCase(t, "pump: {action: triplex-single-acting, state: stopped}\n"+c.known)
			plan, err := PlanTeardown(book, k, []evidence.At{{ID: c.named, Place: evidence.Place{Cylinder: "2"}}})
			require.NoError(t, err)
			assert.Equal(t, c.want, plan.Worn)
		})
	}
}

// The times of a plan for a and c, the pump standing: 5 + 3 to isolate, 10 to
// open the door, 5 for look-a: 23. Found there, 7 + 9 close up: half of 39 if
// all goes well. Then 4 + 2 for look-c: 29, and 6 + 7 + 9 to close: twice 51.
func TestTimesByHand(t *testing.T) {
	book := bookOf(t, handBook)
	k, err := evidence.ParseCase("case.yaml", []byte("pump: {action: triplex-single-acting, state: stopped}\nfindings: {seen: absent}\n"), book.Vocabulary())
	require.NoError(t, err)
	plan, err := PlanTeardown(book, k, []evidence.At{{ID: "a"}, {ID: "c"}})
	require.NoError(t, err)
	x := plan.Times
	for _, pair := range [][2]float64{{x.Quickest, 23}, {x.Low, 19.5}, {x.Whole, 29}, {x.Closing, 22}, {x.High, 102}} {
		assert.InDelta(t, pair[1], pair[0], 1e-12, "%+v", x)
	}
	assert.InDelta(t, 26.0, x.ToCause, 1e-12, "both are found as surely: the mean of 23 and 29")
}
