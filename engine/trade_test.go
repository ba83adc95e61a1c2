package engine

import (
	"testing"

	"telltale/engine/chances"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The facts in this file are common practice, no source.

const (
	triplexRunning  = "pump: {action: triplex-single-acting, state: running}\n"
	triplexStopped  = "pump: {action: triplex-single-acting, state: stopped}\n"
	triplexIsolated = "pump: {action: triplex-single-acting, state: isolated}\n"
	duplexStopped   = "pump: {action: duplex-double-acting, state: stopped}\n"
)

func group(r *Report, id string) float64 {
	for _, g := range r.Groups {
		if g.Group == id {
			return g.Probability
		}
	}
	return -1
}

func chance(r *Report, cause, cylinder string) float64 {
	for _, c := range r.Causes {
		if c.Cause == cause && c.Cylinder == cylinder {
			return c.Probability
		}
	}
	return -1
}

func odds(p float64) float64 { return p / (1 - p) }

func firstCheck(r *Report) string {
	for _, s := range r.Steps {
		if s.Kind == work.StepCheck {
			return s.ID
		}
	}
	return ""
}

func position(r *Report, kind, id string) int {
	for _, s := range r.Steps {
		if s.Kind == kind && s.ID == id {
			return s.Number
		}
	}
	return 0
}

// Each of these signs alone makes a misalignment several times likelier than
// the pump's state without it.
func TestSignsOfMisalignment(t *testing.T) {
	for name, c := range map[string]struct{ head, finding string }{
		"wipers that leak again and again":    {triplexRunning, "wiper-leaks: {again: [2], absent: others}"},
		"extension rod worn on the underside": {triplexIsolated, "rod-worn: {underside: [2]}"},
		"extension rod worn on one side":      {triplexIsolated, "rod-worn: {one-side: [2]}"},
		"piston rod of a duplex worn on one side": {
			duplexStopped, "piston-rod-worn: {one-side: [left]}"},
		"pistons that fail often, worn to one side": {triplexStopped, "pistons-fail-often: {one-sided: [2]}"},
		"liner worn unevenly":                       {triplexIsolated, "liner-worn: {one-sided: [2]}"},
		"liner with long grooves":                   {triplexIsolated, "liner-worn: {long-grooves: [2]}"},
		"rods that break again":                     {triplexStopped, "rod-breaks-again: {present: [2]}"},
		"duplex packing worn more on one side":      {duplexStopped, "packing-worn: {one-side: [left]}"},
	} {
		t.Run(name, func(t *testing.T) {
			base := group(answerTo(t, c.head), "alignment")
			with := group(answerTo(t, c.head+"findings: {"+c.finding+"}"), "alignment")
			assert.Greater(t, with, 3*base)
			assert.Greater(t, with, 0.2)
		})
	}
}

// A broken rod is most often a nut not tightened or a bad make-up of a joint;
// that is looked at first.
func TestABrokenRodIsMostOftenItsMakeUp(t *testing.T) {
	for _, c := range []struct{ head, cylinder string }{{triplexRunning, "2"}, {triplexStopped, "2"}, {duplexStopped, "left"}} {
		r := answerTo(t, c.head+"findings: {rod-broken: {present: ["+c.cylinder+"]}}")
		makeUp := map[string]bool{"piston-nut-loose": true, "piston-rod-joint-bad": true, "extension-rod-joint-bad": true}
		assert.Equal(t, "rod-weakened", r.Troubles[0].Failed[0].Cause)
		for _, root := range r.Troubles[0].BroughtOnBy[:2] {
			assert.True(t, makeUp[root.Cause], "%s is among the first two roots", root.Cause)
			assert.Equal(t, c.cylinder, root.Cylinder)
		}
		assert.Equal(t, "rod-make-up", firstCheck(r))
		require.NotEmpty(t, r.Stop)
		assert.Equal(t, "broken-rod", r.Stop[0].ID)
	}
}

// Wear of crosshead and guide is the ordinary cause of misalignment; a rod
// that runs low by the same all along points to it.
func TestTheOrdinaryMisalignmentIsAWornGuide(t *testing.T) {
	r := answerTo(t, triplexRunning+"findings: {wiper-leaks: {again: [2], absent: others}}")
	assert.Equal(t, "guide-and-crosshead-worn", r.Troubles[0].BroughtOnBy[0].Cause)
	r = answerTo(t, triplexIsolated+"findings: {rod-off-centre: {low: [2], absent: others}}")
	assert.Equal(t, "guide-and-crosshead-worn", r.Causes[0].Cause)
}

func TestWhatMisalignmentComesFrom(t *testing.T) {
	for name, c := range map[string]struct{ head, finding, cause, cylinder string }{
		"a gap at the flange":          {triplexIsolated, "flange-gap: {one-side: [2]}", "extension-rod-not-seated", "2"},
		"rods that do not meet":        {triplexIsolated, "rod-joint-out-of-line: {present: [2]}", "rod-clamp-misfitted", "2"},
		"a stand-off at the facing":    {triplexStopped, "facing-joint: stand-off", "fluid-end-not-square", ""},
		"an upper guide that is wiped": {triplexIsolated, "guide-wear: {upper: all}", "reverse-rotation", ""},
	} {
		t.Run(name, func(t *testing.T) {
			r := answerTo(t, c.head+"findings: {"+c.finding+"}")
			assert.Equal(t, c.cause, r.Causes[0].Cause)
			assert.Equal(t, c.cylinder, r.Causes[0].Cylinder)
		})
	}
}

func TestRecentWorkMovesTheOdds(t *testing.T) {
	const finding = "findings: {wiper-leaks: {again: [1, 2]}}\n"
	for work, cause := range map[string]string{"fluid-end-refitted": "fluid-end-not-square", "drive-or-wiring-worked-on": "reverse-rotation"} {
		plain, after := answerTo(t, triplexRunning+finding), answerTo(t, triplexRunning+finding+"recent: ["+work+"]\n")
		assert.Greater(t, odds(chance(after, cause, "")), 2*odds(chance(plain, cause, "")), work)
	}
}

// What each kind of work invites: the crew's word on it makes these roots likelier
// before anything is found. Common practice, no source.
func TestWorkInvitesRoots(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	prior := func(root, head string) float64 {
		k, err := evidence.ParseCase("case.yaml", []byte(head), book.Vocabulary())
		require.NoError(t, err)
		for _, in := range chances.New(book, k).Causes {
			if in.Cause.ID == root {
				return in.Prior
			}
		}
		return 0 // this pump cannot have it
	}
	for work, roots := range map[string][]string{
		"piston-changed":            {"piston-misfitted", "piston-nut-loose", "piston-rod-joint-bad", "rod-clamp-misfitted", "wash-nozzle-blocked", "piston-striking", "run-dry", "chamber-gas-locked"},
		"liner-changed":             {"liner-not-square", "wash-nozzle-blocked", "piston-misfitted", "relief-set-high", "overload", "dampener-charge-wrong", "run-dry"},
		"wipers-changed":            {"wiper-misfitted"},
		"valves-changed":            {"valve-misfitted", "seat-loose", "valve-cover-backing-off", "chamber-gas-locked", "run-dry"},
		"packing-changed":           {"packing-too-tight", "rod-oiler-failed", "liner-not-square"},
		"rod-clamp-opened":          {"rod-clamp-misfitted", "piston-rod-joint-bad", "piston-striking"},
		"extension-rod-worked-on":   {"extension-rod-not-seated", "extension-rod-joint-bad", "rod-clamp-misfitted", "piston-rod-joint-bad", "wiper-misfitted"},
		"suction-worked-on":         {"suction-air-leak", "suction-line-restricted", "charge-pump-failing", "suction-strainer-blocked", "suction-strainer-torn", "stabiliser-failed", "chamber-gas-locked", "run-dry"},
		"drive-or-wiring-worked-on": {"reverse-rotation", "charge-pump-failing", "sheave-or-coupling-loose"},
		"fluid-end-refitted":        {"fluid-end-not-square", "module-not-square", "liner-not-square", "chamber-gas-locked"},
		"guides-shimmed":            {"crosshead-set-high", "guide-worn-uneven", "crosshead-off-sideways", "guide-clamps-loose", "oil-feed-blocked"},
		"guide-clamps-opened":       {"guide-clamps-loose", "crosshead-shoe-bolts-loose", "crosshead-set-high", "crosshead-off-sideways"},
		"power-end-opened":          {"rod-cap-bolts-loose", "main-bearing-bolt-loose", "oil-feed-blocked", "oil-dirty", "oil-low"},
		"oil-changed":               {"oil-wrong", "oil-low"},
		"dampener-serviced":         {"dampener-charge-wrong"},
		"stood-with-mud":            {"pump-set-solid", "relief-fouled", "rod-surface-rough", "suction-strainer-blocked", "suction-line-restricted", "run-dry"},
		"pump-moved":                {"skid-twisted", "holding-down-bolts-loose", "sheave-or-coupling-loose", "suction-air-leak"},
		"mud-changed":               {"wrong-rubber", "mud-properties-changed", "mud-too-thick"},
	} {
		for _, root := range roots {
			rises := func(head string) bool { return prior(root, head+"recent: ["+work+"]\n") > 1.4*prior(root, head) }
			assert.True(t, rises(triplexStopped) || rises(duplexStopped), "%s invites %s", work, root)
		}
	}
}

// In one cylinder or in all of them: that alone tells a cylinder's cause from
// the pump's.
func TestOneCylinderOrAll(t *testing.T) {
	one := answerTo(t, triplexRunning+"findings: {wiper-leaks: {again: [2], absent: others}}")
	all := answerTo(t, triplexRunning+"findings: {wiper-leaks: {again: all}}")
	assert.Equal(t, "2", one.Troubles[0].BroughtOnBy[0].Cylinder)
	assert.Empty(t, all.Troubles[0].BroughtOnBy[0].Cylinder)
	pumpWide := func(r *Report) float64 {
		return chance(r, "fluid-end-not-square", "") + chance(r, "reverse-rotation", "")
	}
	assert.Greater(t, pumpWide(all), 5*pumpWide(one))
}

// A triplex piston shows its leak in the liner wash; a duplex piston hides it.
func TestWhereAPistonLeakShows(t *testing.T) {
	r := answerTo(t, triplexRunning+"findings: {mud-in-wash: {present: [3], absent: others}}")
	assert.Contains(t, []string{"piston-worn", "liner-scored", "liner-oversize"}, r.Causes[0].Cause)
	assert.Equal(t, "3", r.Causes[0].Cylinder)
	duplex := answerTo(t, "pump: {action: duplex-double-acting, state: running}\nfindings: {output-low: some, hiss: {left head: both-strokes, left crank: both-strokes, absent: [right]}}")
	assert.Equal(t, "piston-worn", duplex.Causes[0].Cause)
	assert.Equal(t, "left", duplex.Causes[0].Cylinder)
}

// Valves belong to one end of a double-acting cylinder; a crew that cannot
// tell which end names the cylinder.
func TestValvesOfADuplexBelongToAnEnd(t *testing.T) {
	const head = "pump: {action: duplex-double-acting, state: running}\n"
	known := answerTo(t, head+"findings: {valve-slam: {present: [left crank], absent: [left head, right]}}")
	assert.Equal(t, evidence.Place{Cylinder: "left", End: "crank"}, known.Causes[0].Place)
	vague := answerTo(t, head+"findings: {valve-slam: {left: present, absent: [right]}}")
	assert.Equal(t, "left", vague.Causes[0].Cylinder)
	assert.Equal(t, vague.Causes[0].Cause, vague.Causes[1].Cause)
	assert.InEpsilon(t, vague.Causes[0].Probability, vague.Causes[1].Probability, 1e-9)
	assert.NotEqual(t, vague.Causes[0].End, vague.Causes[1].End)
}

// Cover off, gauge the face; a gap: rods parted, wire out, screws to torque,
// gauge again; still a gap: housing off, rod out, faces; then the centring.
func TestTheOrderOfTheAlignmentChecks(t *testing.T) {
	r := answerTo(t, triplexRunning+"findings: {wiper-leaks: {again: [2], absent: others}, flange-gap: {2: one-side}}\ntaken: at-last-stop")
	order := []struct{ kind, id string }{
		{work.StepOpening, "rod-parted"}, {work.StepCheck, "cap-screw-torque"},
	}
	last := 0
	for _, s := range order {
		at := position(r, s.kind, s.id)
		require.NotZero(t, at, "%s is in the list", s.id)
		assert.Greater(t, at, last, "%s", s.id)
		last = at
	}
	assert.Less(t, position(r, work.StepOpening, "locking-wire-out"), position(r, work.StepCheck, "cap-screw-torque"))
	assert.Zero(t, position(r, work.StepCheck, "face-feeler"), "the feeler was in already")
	r = answerTo(t, triplexRunning+"findings: {wiper-leaks: {again: [2], absent: others}}")
	assert.Less(t, position(r, work.StepCheck, "face-feeler"), position(r, work.StepOpening, "rod-parted"))
	assert.Less(t, position(r, work.StepCheck, "face-feeler"), position(r, work.StepCheck, "rod-centring"))
	assert.Less(t, position(r, work.StepOpening, "rod-parted"), position(r, work.StepCheck, "rod-centring"))
}

// Every correction is followed by measuring again, and the locking wire goes
// back in.
func TestClosingUp(t *testing.T) {
	r := answerTo(t, triplexRunning+"findings: {wiper-leaks: {again: [2], absent: others}, flange-gap: {2: one-side}}\ntaken: at-last-stop")
	wire, measured, locks := position(r, work.StepReturn, "locking-wire"), position(r, work.StepReturn, "measured-again"), position(r, work.StepReturn, "locks-off")
	assert.NotZero(t, wire)
	assert.NotZero(t, measured)
	assert.Greater(t, locks, wire)
	assert.Greater(t, locks, measured)
	for _, c := range r.Causes {
		assert.NotEmpty(t, c.LookAgain, c.Cause)
		assert.NotEmpty(t, c.Repair, c.Cause)
	}
}

// A confirmed cause stays; what it does not explain keeps the others alive.
func TestAConfirmedCauseLeavesTheRestOpen(t *testing.T) {
	const findings = "findings: {wiper-leaks: {again: [2], absent: others}, gauge-kick: present}\n"
	r := answerTo(t, triplexRunning+findings+"confirmed: [wiper-misfitted: 2]\n")
	require.Len(t, r.Confirmed, 1)
	require.Len(t, r.Unexplained, 1)
	assert.Equal(t, "gauge-kick", r.Found[r.Unexplained[0].Finding-1].Sign)
	before := answerTo(t, triplexRunning+findings)
	assert.Greater(t, chance(before, "guide-and-crosshead-worn", "2"), 4*chance(r, "guide-and-crosshead-worn", "2"))
	// a piston that the same root wore no longer explains the gauge, so a valve has to
	assert.Greater(t, chance(r, "discharge-valve-cut", "2"), chance(before, "discharge-valve-cut", "2"))
}

func TestStopsComeBeforeEverything(t *testing.T) {
	for finding, stop := range map[string]string{
		"rod-broken: {present: [1]}":                                     "broken-rod",
		"turns-wrong-way: present":                                       "reverse-rotation-suspected",
		"smoke: power-end":                                               "smoke-seen",
		"pit-gain: present":                                              "well-control-first",
		"flow-with-pumps-off: present":                                   "well-control-first",
		"oil-mud-spraying: {present: [2]}":                               "oil-mud-spray",
		"smoke: present, pit-gain: present":                              "well-control-first",
		"relief-kept-shut: present":                                      "nothing-limits-pressure",
		"oil-pressure-low: low, wash-weak: {present: [1]}, smoke: drive": "smoke-seen",
		"relief-kept-shut: present, pit-gain: present, wash-weak: {present: [1]}": "well-control-first",
		"rod-broken: {absent: [1]}":          "",
		"pit-gain: absent, knock: irregular": "",
	} {
		r := answerTo(t, triplexRunning+"findings: {"+finding+"}")
		if stop == "" {
			assert.Empty(t, r.Stop, finding)
			continue
		}
		require.NotEmpty(t, r.Stop, finding)
		assert.Equal(t, stop, r.Stop[0].ID, finding)
		for _, s := range r.Steps {
			assert.NotEqual(t, "running", s.Pump, finding)
		}
		if stop == "well-control-first" {
			assert.True(t, r.LeavePump)
			assert.Empty(t, r.Steps)
			assert.Empty(t, r.Causes)
			assert.Empty(t, r.Ask)
		}
	}
	assert.NotEmpty(t, answerTo(t, "pump: {action: triplex-single-acting, state: running, rotation: reverse}\n").Stop)
}

// What a driller most wants to hear is said: it may not be the pump.
func TestItMayNotBeThePump(t *testing.T) {
	r := answerTo(t, triplexRunning+"findings: {pressure-low: fell-slowly, other-pump: same, output-low: absent}")
	assert.Equal(t, "not-the-pump", r.Causes[0].Group)
	assert.Greater(t, group(r, "not-the-pump"), 0.7)
}

func TestMakersFiguresAreBlankOrFromTheCase(t *testing.T) {
	const text = triplexIsolated + "findings: {flange-gap: {2: one-side}}\n"
	do := func(r *Report) string {
		for _, s := range r.Steps {
			if s.ID == "cap-screw-torque" {
				return s.Do
			}
		}
		return ""
	}
	assert.Contains(t, do(answerTo(t, text)), "______ (from this pump's manual)")
	assert.Contains(t, do(answerTo(t, text+"manual: {crosshead-cap-screw-torque: 250 ft lbf}\n")), "250 ft lbf (339 N m) (this pump's manual)")
}
