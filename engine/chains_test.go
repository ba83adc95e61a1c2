package engine

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine/chances"
	"telltale/evidence"
	"telltale/rules"
)

// chain is what the trade knows of one failure and its roots: common practice, no
// source. The places are those of a triplex with cylinders 1, 2, 3 or of a duplex
// with left and right.
type chain struct {
	duplex  bool
	failure string // with its place
	seen    string // findings that only the failure gives, as it shows when one of the roots brought it on
	recent  string
	roots   []string // that must be named for it then
	root    string   // one of them, with its place
	telling string   // a further finding that is the root's own
}

// chains are rows of the trade's table, one for each way in which a failure tells
// what brought it on.
var chains = map[string]chain{
	"a low crosshead wears the piston to one side": {failure: "piston-worn: 2", seen: "pistons-fail-often: {one-sided: [2], absent: others}, mud-in-wash: {present: [2], absent: others}",
		roots: []string{"guide-and-crosshead-worn", "extension-rod-not-seated", "rod-clamp-misfitted", "module-not-square"}, root: "guide-and-crosshead-worn: 2", telling: "rod-off-centre: {2: low}"},
	"a rod that is not seated leaks at the wiper again": {failure: "wiper-worn-out: 2", seen: "wiper-leaks: {again: [2], absent: others}, wiper-wear: {2: one-side}",
		roots: []string{"guide-and-crosshead-worn", "extension-rod-not-seated", "rod-clamp-misfitted"}, root: "extension-rod-not-seated: 2", telling: "flange-gap: {2: one-side}"},
	"a crooked clamp scores the rod": {failure: "extension-rod-scored: 1", seen: "rod-worn: {1: one-side, absent: others}",
		roots: []string{"extension-rod-not-seated", "rod-clamp-misfitted", "crosshead-off-sideways"}, root: "rod-clamp-misfitted: 1", telling: "rod-joint-out-of-line: {present: [1], absent: others}"},
	"a fluid end out of square leaks at every wiper": {failure: "wiper-worn-out: 1", seen: "wiper-leaks: {again: all}",
		roots: []string{"fluid-end-not-square"}, root: "fluid-end-not-square", telling: "facing-joint: stand-off"},
	"a module out of square wears its piston": {failure: "piston-worn: 3", seen: "pistons-fail-often: {one-sided: [3], absent: others}",
		roots: []string{"module-not-square", "rod-clamp-misfitted"}, root: "module-not-square: 3", telling: "module-joint: {3: stand-off}"},
	"a tipped liner wears to one side": {failure: "liner-scored: 2", seen: "liner-worn: {2: one-sided}, liners-fail-early: {present: [2], absent: others}",
		roots: []string{"liner-not-square", "guide-and-crosshead-worn"}, root: "liner-not-square: 2", telling: "liner-seat-track: {present: [2]}", recent: "liner-changed"},
	"reverse rotation wears the rod on top": {failure: "extension-rod-scored: 1", seen: "rod-worn: {top: all}",
		roots: []string{"reverse-rotation"}, root: "reverse-rotation", telling: "turns-wrong-way: present"},
	"a low crosshead wears the packing to one side": {duplex: true, failure: "packing-worn-out: left", seen: "packing-worn: {left: one-side}, packing-fails-early: {present: [left], absent: others}",
		roots: []string{"guide-and-crosshead-worn", "extension-rod-not-seated"}, root: "guide-and-crosshead-worn: left", telling: "rod-off-centre: {left: low}"},
	"a rod that runs off line wears the bushing oval": {duplex: true, failure: "box-bushing-large: right", seen: "box-bushing-worn: {right: one-side}",
		roots: []string{"guide-and-crosshead-worn", "extension-rod-not-seated", "crosshead-off-sideways"}, root: "crosshead-off-sideways: right", telling: "rod-off-centre: {right: sideways}"},
	"a blocked nozzle burns one piston": {failure: "piston-worn: 2", seen: "piston-damage: {2: burnt}, mud-in-wash: {present: [2], absent: others}",
		roots: []string{"wash-nozzle-blocked", "wash-supply-failed", "run-dry"}, root: "wash-nozzle-blocked: 2", telling: "wash-weak: {present: [2], absent: others}"},
	"a wash pump that failed burns all": {failure: "piston-worn: 1", seen: "piston-damage: {burnt: all}",
		roots: []string{"wash-supply-failed", "run-dry"}, root: "wash-supply-failed", telling: "wash-weak: {present: all}"},
	"a dry start burns the pistons of a duplex": {duplex: true, failure: "piston-worn: left", seen: "piston-damage: {burnt: all}",
		roots: []string{"run-dry"}, root: "run-dry", telling: "liner-hot: {present: all}"},
	"a wiper that leaks spoils the oil": {failure: "oil-dirty", seen: "oil-milky: present, oil-level: rising",
		roots: []string{"wiper-worn-out"}, root: "wiper-worn-out: 2", telling: "wiper-leaks: {first: [2], absent: others}"},
	"dirty oil wears a main bearing": {failure: "main-bearing-worn", seen: "bearing-hot: present, noise-loudest-at-crank: present, rumble: present",
		roots: []string{"oil-dirty"}, root: "oil-dirty", telling: "oil-gritty: present"},
	"a blocked feed wipes one crosshead": {failure: "crosshead-guide-wiped: 3", seen: "guide-wear: {3: lower, absent: others}, metal-in-oil: bronze, crosshead-hot: {present: [3], absent: others}",
		roots: []string{"oil-feed-blocked", "oil-dirty"}, root: "oil-feed-blocked: 3", telling: "crosshead-dry: {present: [3], absent: others}"},
	"too little oil wipes the crossheads": {duplex: true, failure: "crosshead-guide-wiped: left", seen: "guide-wear: {lower: all}, metal-in-oil: bronze",
		roots: []string{"oil-low", "oil-wrong", "oil-dirty"}, root: "oil-low", telling: "oil-level: low"},
	"sand wears all pistons": {failure: "piston-worn: 1", seen: "pistons-fail-often: {even: all}, liners-fail-early: {present: all}",
		roots: []string{"sandy-mud"}, root: "sandy-mud", telling: "sand-high: present"},
	"sand cuts valves again": {duplex: true, failure: "suction-valve-cut: left head", seen: "valves-fail-early: {present: all}, valve-damage: {left head: fluid-cut}",
		roots: []string{"sandy-mud"}, root: "sandy-mud", telling: "sand-high: present"},
	"the wrong rubber swells": {failure: "piston-worn: 2", seen: "piston-damage: {swollen: all}",
		roots: []string{"wrong-rubber"}, root: "wrong-rubber", telling: "valve-damage: {insert-torn: all}", recent: "mud-changed"},
	"a blocked strainer hammers the valves": {failure: "suction-valve-cut: 1", seen: "valve-damage: {pounded: all}",
		roots: []string{"suction-strainer-blocked", "too-fast-for-suction", "charge-pump-failing"}, root: "suction-strainer-blocked",
		telling: "charge-pressure-low: only-at-speed, suction-crackle: present, pieces-in-strainer: trash"},
	"a charge pump that fails hammers the valves": {duplex: true, failure: "suction-valve-cut: left head", seen: "valve-damage: {pounded: all}",
		roots: []string{"charge-pump-failing", "too-fast-for-suction"}, root: "charge-pump-failing", telling: "charge-pressure-low: at-any-speed, suction-crackle: present"},
	"strokes too high hammer the valves": {failure: "discharge-valve-cut: 2", seen: "valve-damage: {pounded: all}",
		roots: []string{"too-fast-for-suction"}, root: "too-fast-for-suction", telling: "knock: every-cylinder, knock-when-slower: stops, suction-head-short: present"},
	"a seat that let go cuts each new valve": {failure: "suction-valve-cut: 2", seen: "valves-fail-early: {present: [2], absent: others}, hiss: {2: discharge-stroke}",
		roots: []string{"seat-loose", "module-washed"}, root: "seat-loose: 2", telling: "seat-damage: {2: loose}"},
	"a washed deck cuts each new valve": {duplex: true, failure: "discharge-valve-cut: right crank", seen: "valves-fail-early: {present: [right crank], absent: others}, hiss: {right crank: suction-stroke}",
		roots: []string{"module-washed", "seat-loose"}, root: "module-washed: right crank", telling: "weep-hole-runs: {present: [right]}, seat-damage: {right crank: washed-behind}"},
	"a broken spring pounds its valve": {failure: "discharge-valve-cut: 3", seen: "valve-damage: {3: pounded}",
		roots: []string{"valve-spring-broken"}, root: "valve-spring-broken: 3", telling: "spring-damage: {3: broken}"},
	"a worn guide cocks its valve": {failure: "discharge-valve-cut: 1", seen: "valves-fail-early: {present: [1], absent: others}, hiss: {1: suction-stroke}",
		roots: []string{"valve-guide-worn"}, root: "valve-guide-worn: 1", telling: "valve-damage: {1: cocked}"},
	"a piece from upstream lies under a valve": {failure: "valve-held-open: 2", seen: "valve-damage: {2: debris}, pressure-low: fell-suddenly",
		roots: []string{"suction-strainer-torn"}, root: "suction-strainer-torn", telling: "strainer-holed: present"},
	"a nut that was not tight breaks the rod": {failure: "rod-weakened: 2", seen: "rod-broken: {present: [2]}, break-place: {2: piston-thread}",
		roots: []string{"piston-nut-loose"}, root: "piston-nut-loose: 2", telling: "piston-nut-moved: {present: [2]}"},
	"a joint that was not made up breaks the rod": {duplex: true, failure: "rod-weakened: left", seen: "rod-broken: {present: [left]}, break-place: {left: rod-joint}",
		roots: []string{"piston-rod-joint-bad"}, root: "piston-rod-joint-bad: left", telling: "rod-joint-moved: {present: [left]}"},
	"a rod breaks again though made up right": {failure: "rod-weakened: 1", seen: "rod-broken: {present: [1]}, rod-breaks-again: {present: [1]}",
		roots: []string{"guide-and-crosshead-worn", "extension-rod-not-seated", "rod-clamp-misfitted"}, root: "guide-and-crosshead-worn: 1", telling: "rod-off-centre: {1: low}"},
	"a gland pulled hard burns the packing": {duplex: true, failure: "packing-worn-out: left", seen: "packing-worn: {left: burnt}, packing-fails-early: {present: [left], absent: others}",
		roots: []string{"packing-too-tight", "rod-oiler-failed"}, root: "packing-too-tight: left", telling: "box-hot: {present: [left]}", recent: "packing-changed"},
	"a dry oiler burns the packing": {duplex: true, failure: "packing-worn-out: right", seen: "packing-worn: {right: burnt}",
		roots: []string{"packing-too-tight", "rod-oiler-failed"}, root: "rod-oiler-failed: right", telling: "rod-oiler-dry: {present: [right], absent: others}"},
	"a rough rod tears the packing": {duplex: true, failure: "packing-worn-out: left", seen: "packing-fails-early: {present: [left], absent: others}, packing-worn: {left: all-round}",
		roots: []string{"piston-rod-scored", "box-bushing-large"}, root: "piston-rod-scored: left", telling: "piston-rod-worn: {left: all-round}, sand-high: absent, box-hot: {absent: all}"},
	"a rough rod tears the wiper": {failure: "wiper-worn-out: 3", seen: "wiper-leaks: {again: [3], absent: others}, wiper-wear: {3: all-round}",
		roots: []string{"rod-surface-rough"}, root: "rod-surface-rough: 3", telling: "rod-worn: {3: all-round}"},
	"a lost gas charge tires the relief pin": {failure: "relief-set-wrong", seen: "relief-popped: below-setting",
		roots: []string{"dampener-charge-wrong"}, root: "dampener-charge-wrong", telling: "dampener-gas: low"},
	"rated pressure passed cracks the body": {failure: "module-cracked: 2", seen: "body-wet-line: {present: [2]}",
		roots: []string{"overload", "relief-set-high", "relief-fouled"}, root: "relief-set-high", telling: "relief-valve-found: set-high"},
	"overload nibbles the lips": {failure: "piston-worn: 1", seen: "piston-damage: {lip-torn: all}, pistons-fail-often: {even: all}",
		roots: []string{"overload"}, root: "overload", telling: "over-rating: present"},
	"loose feet wear the belts": {failure: "belts-or-chain-worn", seen: "belts-look-bad: present, strokes-sag: driver-holds",
		roots: []string{"holding-down-bolts-loose", "sheave-or-coupling-loose"}, root: "holding-down-bolts-loose", telling: "skid-moves: present"},
	"a loose sheave wears the belts": {duplex: true, failure: "belts-or-chain-worn", seen: "belts-look-bad: present, strokes-sag: driver-holds",
		roots: []string{"holding-down-bolts-loose", "sheave-or-coupling-loose"}, root: "sheave-or-coupling-loose", telling: "drive-shakes: present", recent: "drive-or-wiring-worked-on"},
	"a mud pit that runs low hammers nothing by itself": {failure: "pit-too-low", seen: "pit-low: present",
		roots: []string{"lost-returns"}, root: "lost-returns", telling: "returns-down: present"},
}

// text is a case of the chain with these findings and lines.
func (c chain) text(findings, more string) string {
	pump := "triplex-single-acting"
	if c.duplex {
		pump = "duplex-double-acting"
	}
	if c.recent != "" {
		more = "recent: [" + c.recent + "]\n" + more
	}
	if findings != "" {
		more = "findings: {" + findings + "}\n" + more
	}
	return "pump: {action: " + pump + ", state: isolated}\n" + more
}

// placed splits a cause from its place and gives it as a case file writes it.
func placed(what string) (cause, at string) {
	cause, at, _ = strings.Cut(what, ": ")
	return cause, at
}

func listed(what string) string {
	if cause, at := placed(what); at != "" {
		return "{" + cause + ": " + at + "}"
	}
	return what
}

// weighed gives the failure of a chain in a case: its chance, its roots and the
// chance that it came by itself.
func (c chain) weighed(t *testing.T, text string) (float64, []chances.Root, float64) {
	book, k := builtInCase(t, text)
	w, err := chances.New(book, k).Weigh()
	require.NoError(t, err, text)
	cause, at := placed(c.failure)
	is := func(id string, p evidence.Place) bool {
		return id == cause && strings.TrimSpace(p.Cylinder+" "+p.End) == at
	}
	for _, x := range w.Open() {
		if is(x.Cause, x.Place) {
			return x.Probability, x.BroughtOnBy, x.ByItself
		}
	}
	for _, x := range w.Proved() {
		if is(x.Cause, x.Place) {
			return 1, x.BroughtOnBy, x.ByItself
		}
	}
	t.Fatalf("no %s in %s", c.failure, text)
	return 0, nil, 0
}

func named(roots []chances.Root, id string) (sum float64) {
	for _, r := range roots {
		if r.Cause == id {
			sum += r.Probability
		}
	}
	return sum
}

// As the trade knows it: from the signs of the failure alone its likely roots are
// named; one telling sign more, and that root is the first; the failure once
// proved keeps its roots alive; with all of them ruled out it came by itself.
func TestChainsOfTheTrade(t *testing.T) {
	for name, c := range chains {
		t.Run(name, func(t *testing.T) {
			chance, roots, _ := c.weighed(t, c.text(c.seen, ""))
			assert.Greater(t, chance, 0.1, "the failure is likely by its signs")
			for _, id := range c.roots {
				assert.Greater(t, named(roots, id), 0.03, "%s is named: %v", id, short(roots))
			}
			root, at := placed(c.root)
			_, roots, _ = c.weighed(t, c.text(c.seen+", "+c.telling, ""))
			require.NotEmpty(t, roots)
			assert.Equal(t, root+" "+at, strings.TrimSpace(roots[0].Cause)+" "+strings.TrimSpace(roots[0].Cylinder+" "+roots[0].End), "first with %s: %v", c.telling, short(roots))
			confirmed := "confirmed: [" + listed(c.failure) + "]\n"
			_, before, _ := c.weighed(t, c.text("", confirmed))
			_, proved, _ := c.weighed(t, c.text(c.telling, confirmed))
			assert.Greater(t, named(proved, root), named(before, root), "proved, %s speaks for its root: %v", c.telling, short(proved))
			assert.Greater(t, named(proved, root), 0.3, "proved, its root stays alive: %v", short(proved))
			var out []string
			for _, r := range before {
				what := r.Cause
				if place := strings.TrimSpace(r.Cylinder + " " + r.End); place != "" {
					what += ": " + place
				}
				out = append(out, listed(what))
			}
			_, _, alone := c.weighed(t, c.text("", confirmed+"ruled-out: ["+strings.Join(out, ", ")+"]\n"))
			assert.Greater(t, alone, 0.95, "with its roots ruled out it came by itself")
		})
	}
}

func short(roots []chances.Root) (out []string) {
	for i, r := range roots {
		if i < 6 {
			out = append(out, fmt.Sprintf("%s %s%s %.2f", r.Cause, r.Cylinder, r.End, r.Probability))
		}
	}
	return out
}

// What the table says brings a failure on does so in the book itself, with nothing
// between the two.
func TestChainsAreInTheBook(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	for name, c := range chains {
		cause, _ := placed(c.failure)
		root, _ := placed(c.root)
		require.NotNil(t, book.Causes.Get(cause), name)
		by := book.BroughtBy(cause)
		assert.True(t, slices.ContainsFunc(by, func(r rules.Brought) bool { return r.By.ID == root }), "%s: %s brings %s on", name, root, cause)
	}
}
