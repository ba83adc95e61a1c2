package engine

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine/chances"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

var rawMark = regexp.MustCompile(`\{[a-z0-9-]+\}`)

// mistold gives the first fault in what a plan says besides its steps: who is
// told and asked, what is read, where parts are needed, what is at hand.
func mistold(book *rules.Book, k *evidence.Case, plan *Teardown) string {
	opens := func(ids []string) bool {
		return slices.ContainsFunc(plan.Opens, func(o work.Open) bool { return slices.Contains(ids, o.ID) })
	}
	told := map[string]bool{}
	for _, who := range plan.Told {
		told[who.Who] = true
	}
	for _, who := range book.Told.List {
		due := len(who.Opened)+len(who.Causes) == 0 || opens(who.Opened) ||
			slices.ContainsFunc(plan.For, func(f work.Target) bool { return slices.Contains(who.Causes, f.Cause) })
		if told[who.Title] != (due && who.When.Holds(k, book)) {
			return fmt.Sprintf("%s is told: %t", who.Title, told[who.Title])
		}
	}
	asked := 0
	for _, r := range book.Referrals.List {
		if len(r.Opened) == 0 || opens(r.Opened) {
			asked++
		}
	}
	reads, hands := 0, 1
	for _, s := range plan.Steps {
		if s.Kind == work.StepCheck {
			reads += len(book.Checks.Get(s.ID).Read)
			hands = max(hands, book.Checks.Get(s.ID).Hands)
		}
		if back := book.Returns.Get(s.ID); s.Kind == work.StepReturn && back != nil {
			for _, o := range plan.Opens {
				for _, id := range back.Repeats {
					if slices.Contains(back.Opened, o.ID) {
						reads += len(book.Checks.Get(id).Read)
					}
				}
			}
		}
		if s.Kind == work.StepSafety {
			hands = max(hands, book.Safety.Get(s.ID).Hands)
		}
		for _, tool := range s.Tools {
			if !slices.Contains(plan.Tools, tool) {
				return "no " + tool + " at hand"
			}
		}
	}
	for _, o := range plan.Opens {
		hands = max(hands, o.Hands)
		for _, tool := range book.Openings.Get(o.ID).Tools {
			if !slices.Contains(plan.Tools, tool) {
				return "no " + tool + " at hand to close " + o.ID
			}
		}
	}
	if asked != len(plan.AskInstead) || reads != len(plan.Readings) || hands != plan.Hands {
		return fmt.Sprintf("asked %d, read %d, hands %d; the plan says %d, %d, %d", asked, reads, hands, len(plan.AskInstead), len(plan.Readings), plan.Hands)
	}
	for _, r := range plan.Readings {
		step := plan.Steps[r.Step-1]
		back := book.Returns.Get(step.ID)
		repeated := step.Kind == work.StepReturn && back != nil && slices.Contains(back.Repeats, r.Check)
		if !repeated && (step.Kind != work.StepCheck || step.ID != r.Check || step.Place != r.Place) {
			return "a reading of " + r.Check + ", which is not in the list"
		}
	}
	for _, spare := range plan.Spares {
		level := book.Parts.Get(spare.Part).Level
		for _, p := range spare.Places {
			if level == evidence.OfPump || len(k.Pump.Under(p, level)) == 0 {
				return fmt.Sprintf("%s at %q", spare.Part, p)
			}
		}
		if fault := outOfReach(book, k, plan, spare); fault != "" {
			return fault
		}
	}
	return ""
}

// outOfReach gives a part that the plan does not get at without a word of what
// must be opened besides: with that open, in the order that it stands in, the
// part is in reach.
func outOfReach(book *rules.Book, k *evidence.Case, plan *Teardown, spare work.Spare) string {
	open := openedBy(plan)
	for _, more := range spare.OpenBesides {
		at := evidence.At{ID: more.ID, Place: more.Place}
		if slices.Contains(open, at) {
			return spare.Part + ": is open already: " + at.ID
		}
		for _, need := range book.Openings.Get(at.ID).Needs {
			if !book.IsOpen(need, at.Place, open) {
				return spare.Part + ": " + at.ID + " before " + need
			}
		}
		open = append(open, at)
	}
	for _, p := range spare.Places {
		for _, id := range book.Parts.Get(spare.Part).ReachedBy {
			if !book.IsOpen(id, p, open) && book.ExistsAt(id, p, k) {
				return spare.Part + " at " + p.String() + " is behind " + id + ", and the plan does not say so"
			}
		}
	}
	return ""
}

// Plans for cases drawn from the built-in book, from the ranking and for a
// named cause, are safe and say what applies.
func TestTeardownsOfTheBuiltInBook(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	r := rand.New(rand.NewPCG(5, 4))
	for i := range 60 {
		k := drawnCase(r, book, action(i), 1+i%4)
		var named []evidence.At
		if i%3 == 0 {
			m := chances.New(book, k)
			in := m.Causes[r.IntN(len(m.Causes))]
			named = []evidence.At{{ID: in.Cause.ID, Place: in.Place}}
		}
		plan, err := PlanTeardown(book, k, named)
		require.NoError(t, err)
		if !plan.LeavePump {
			assert.Empty(t, first(unsafe(book, k, plan.Report), unclosed(book, k, plan), mistold(book, k, plan)), "%v %v", k.Findings, named)
		}
	}
}

// The demo cases: every figure is filled in everywhere, and the JSON holds no
// null where a list is meant.
func TestTeardownsOfTheDemoCases(t *testing.T) {
	files, err := filepath.Glob("../testdata/cases/*.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, file := range files {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		book, k := builtInCase(t, string(text))
		plan, err := PlanTeardown(book, k, nil)
		require.NoError(t, err, file)
		out, err := json.Marshal(plan)
		require.NoError(t, err, file)
		assert.NotRegexp(t, rawMark, string(out), file)
		assert.NotContains(t, string(out), ":null", file)
		if !plan.LeavePump {
			assert.Empty(t, first(unsafe(book, k, plan.Report), unclosed(book, k, plan), mistold(book, k, plan)), file)
		}
		for _, reading := range plan.Readings {
			for _, limit := range reading.Limits {
				assert.Regexp(t, `: (_{6} \(from|[0-9])`, limit, file)
			}
		}
	}
}

// A well that may flow gives the stop and nothing else; so do findings that
// cannot be, with their error.
func TestNoTeardownBehindAStop(t *testing.T) {
	book, k := builtInCase(t, "pump: {action: triplex-single-acting, state: running}\nfindings: {pit-gain: present}\n")
	plan, err := PlanTeardown(book, k, []evidence.At{{ID: "piston-worn", Place: evidence.Place{Cylinder: "2"}}})
	require.NoError(t, err)
	assert.True(t, plan.LeavePump)
	assert.Equal(t, "well-control-first", plan.Stop[0].ID)
	assert.Zero(t, len(plan.Steps)+len(plan.For)+len(plan.Opens)+len(plan.Told)+len(plan.Spares)+len(plan.Consumed)+len(plan.WhileOpen))

	book, k = builtInCase(t, "pump: {action: triplex-single-acting, state: isolated, open: [rod-parted: 2]}\n"+
		"findings: {rod-off-centre: {absent: [2]}, smoke: present}\n"+
		"measured: {rod-in-opening: {2: {resolution: 1 thou, rod: parted, crosshead: seated, middle: {top: 137 thou, bottom: 113 thou}}}}\n")
	plan, err = PlanTeardown(book, k, nil)
	require.ErrorContains(t, err, "rod-off-centre")
	require.NotEmpty(t, plan.Stop)
	assert.Equal(t, "smoke-seen", plan.Stop[0].ID)
	assert.Zero(t, len(plan.Steps)+len(plan.Opens)+len(plan.Spares))
}

// Parts come from the causes behind the findings, not from what is common in
// pumps: a packing job takes no piston. What is proved takes all that the
// ranking names for it, however seldom; what is corrected takes nothing more.
func TestSparesComeFromTheCausesOfTheCase(t *testing.T) {
	packing := "pump: {action: duplex-double-acting, state: stopped}\nfindings: {packing-fails-early: {present: [left]}, rod-worn: {left: underside}}\n"
	clamp := "pump: {action: triplex-single-acting, state: stopped}\nfindings: {rod-worn: {2: underside}}\nconfirmed: [rod-clamp-misfitted: 2]\n"
	for name, c := range map[string]struct {
		text      string
		has, none []string
	}{
		"packing":   {packing, []string{"guide-shims"}, []string{"piston", "valve", "liner"}},
		"proved":    {clamp, []string{"rod-clamp", "clamp-bolts"}, []string{"piston"}},
		"corrected": {clamp + "corrected: [rod-clamp-misfitted: 2]\n", nil, []string{"rod-clamp", "clamp-bolts"}},
		"set solid": {"pump: {action: triplex-single-acting, state: stopped}\nconfirmed: [pump-set-solid]\n", []string{"piston", "valve"}, nil},
	} {
		t.Run(name, func(t *testing.T) {
			book, k := builtInCase(t, c.text)
			plan, err := PlanTeardown(book, k, nil)
			require.NoError(t, err)
			listed := map[string]bool{}
			for _, s := range append(slices.Clone(plan.Spares), plan.Consumed...) {
				listed[s.Part] = true
			}
			for _, part := range c.has {
				assert.True(t, listed[part], "%s: %v", part, listed)
			}
			for _, part := range c.none {
				assert.False(t, listed[part], "%s: %v", part, listed)
			}
		})
	}
}

// A part that a finding shows worn is laid ready, whatever the cause: the piston
// rod of a packing job, with the seal of the head that it goes out through. Not
// once the cause there is corrected, nor at a place that nobody knows, nor where
// the opening has new ones anyway.
func TestPartsThatAFindingShowsWorn(t *testing.T) {
	duplex := "pump: {action: duplex-double-acting, state: stopped}\nfindings: {packing-fails-early: {present: [left]}"
	left := evidence.Place{Cylinder: "left"}
	for name, c := range map[string]struct {
		text, part string
		least      float64
		places     []evidence.Place
	}{
		"scored rod":         {duplex + ", piston-rod-worn: {left: underside}}\n", "piston-rod", 0.6, []evidence.Place{left}},
		"head on the way":    {duplex + ", piston-rod-worn: {left: underside}}\n", "head-seal", 0.6, []evidence.Place{left}},
		"rod is sound":       {duplex + ", piston-rod-worn: {absent: [left]}}\n", "piston-rod", 0, nil},
		"corrected":          {duplex + ", piston-rod-worn: {left: underside}}\nconfirmed: [packing-worn-out: left, piston-rod-scored: left]\ncorrected: [packing-worn-out: left, piston-rod-scored: left]\n", "piston-rod", 0, nil},
		"valve in its pot":   {"pump: {action: triplex-single-acting, state: stopped}\nfindings: {valve-damage: {2: fluid-cut}}\n", "valve", 0.9, []evidence.Place{{Cylinder: "2"}}},
		"nobody knows where": {"pump: {action: triplex-single-acting, state: stopped}\nfindings: {knock: present, spring-damage: {present: somewhere}}\n", "valve-insert", 0, nil},
	} {
		t.Run(name, func(t *testing.T) {
			book, k := builtInCase(t, c.text)
			plan, err := PlanTeardown(book, k, nil)
			require.NoError(t, err)
			i := slices.IndexFunc(plan.Spares, func(s work.Spare) bool { return s.Part == c.part })
			if c.places == nil {
				if i >= 0 {
					assert.Less(t, plan.Spares[i].Chance, 0.6, "no finding shows it")
				}
				return
			}
			require.GreaterOrEqual(t, i, 0, "%+v", plan.Spares)
			assert.GreaterOrEqual(t, plan.Spares[i].Chance, c.least)
			assert.Equal(t, c.places, plan.Spares[i].Places)
			assert.Empty(t, outOfReach(book, k, plan, plan.Spares[i]))
		})
	}
}

// Whatever is proved: each part that the ranking names for it is
// laid ready by the plan, and so stands on the sheet; nothing is laid ready that
// this pump does not have.
func TestThePartsOfWhatIsProvedAreLaidReady(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	for _, c := range book.Causes.List {
		k := rules.BareCase(evidence.Triplex)
		if !c.When.Holds(k, book) {
			k = rules.BareCase(evidence.Duplex)
		}
		k.Pump.State = evidence.Stopped
		k.Confirmed = []evidence.At{{ID: c.ID, Place: k.Pump.Places(c.Level)[0]}}
		plan, err := PlanTeardown(book, k, nil)
		require.NoError(t, err, c.ID)
		if plan.LeavePump {
			continue
		}
		ready := map[string]bool{}
		for _, s := range append(slices.Clone(plan.Spares), plan.Consumed...) {
			ready[strings.ToLower(s.Title[:1])+s.Title[1:]] = true
			assert.True(t, book.Parts.Get(s.Part).When.Holds(k, book), "%s: %s", c.ID, s.Part)
		}
		require.Len(t, plan.Confirmed, 1, c.ID)
		for _, part := range plan.Confirmed[0].Parts {
			assert.True(t, ready[strings.TrimSuffix(part, " if needed")], "%s: %s", c.ID, part)
		}
	}
}

// Shims with the housing left in: the plan that stops at the crosshead cover
// says what must still be opened for them and with what minutes, and has the
// wipers and the seal ready that this takes.
func TestPartsBehindWhatThePlanLeavesShut(t *testing.T) {
	book, k := builtInCase(t, "pump: {action: triplex-single-acting, state: stopped}\n")
	plan, err := PlanTeardown(book, k, []evidence.At{{ID: "guide-worn-uneven", Place: evidence.Place{Cylinder: "2"}}})
	require.NoError(t, err)
	at := slices.IndexFunc(plan.Opens, func(o work.Open) bool { return o.ID == "diaphragm-housing-off" })
	require.Negative(t, at, "the plan of this test must leave the housing in: %+v", plan.Opens)
	for _, part := range []string{"guide-shims", "wiper-set", "diaphragm-seal"} {
		i := slices.IndexFunc(plan.Spares, func(s work.Spare) bool { return s.Part == part })
		require.GreaterOrEqual(t, i, 0, part)
		more := plan.Spares[i].OpenBesides
		require.NotEmpty(t, more, part)
		last := more[len(more)-1]
		housing := book.Openings.Get("diaphragm-housing-off")
		for _, tool := range append(slices.Clone(book.Parts.Get(part).Tools), housing.Tools...) {
			assert.True(t, slices.Contains(plan.Tools, tool) != slices.Contains(plan.RepairTools, tool), "%s for %s stands once", tool, part)
		}
		assert.Equal(t, work.Besides{ID: housing.ID, Place: evidence.Place{Cylinder: "2"}, Title: housing.Title, Minutes: housing.Minutes + housing.Close.Minutes, Hands: housing.Hands}, last, part)
	}
}
