package engine

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

// changedBook is the book of roots with some of its text replaced.
func changedBook(t testing.TB, pairs ...string) *rules.Book {
	return bookOf(t, strings.NewReplacer(pairs...).Replace(rootBook))
}

func checksOf(steps []work.Step) []string {
	var out []string
	for _, s := range steps {
		if s.Kind == work.StepCheck {
			out = append(out, s.ID)
		}
	}
	return out
}

func stepOf(t testing.TB, steps []work.Step, id string) work.Step {
	i := slices.IndexFunc(steps, func(s work.Step) bool { return s.ID == id })
	require.GreaterOrEqual(t, i, 0, id)
	return steps[i]
}

// way is one way in which a cause of the book of roots is there.
type wayThere struct {
	cause       string
	under       int // -1: by itself
	there, sure float64
}

// foundByEnumeration gives, with the leak seen, the chance that a cause of some
// is there, shows it and is exposed: over all states of the five ways in which the
// three causes are there, of what each of them yields, and of what is exposed.
func foundByEnumeration(miss map[string]float64, wanted ...string) float64 {
	ways := []wayThere{{"rod", -1, 0.2, 0}, {"dirt", -1, 0.1, 0}, {"seal", -1, 0.05, 0.9}, {"seal", 0, 0.5, 0.9}, {"seal", 1, 0.5, 0.9}}
	seen, exposed := 0.0, 0.0
	for there := range 1 << len(ways) {
		for shows := range 1 << len(ways) {
			mass := 1.0
			for i, w := range ways {
				chance := w.there
				if w.under >= 0 && there>>w.under&1 == 0 {
					chance = 0
				}
				yield := w.sure
				if there>>i&1 == 0 {
					chance, yield = 1-chance, 0
				}
				if shows>>i&1 == 0 {
					yield = 1 - yield
				}
				mass *= chance * yield
			}
			if shows == 0 {
				mass *= 0.01 // the background
			}
			seen += mass
			missed := 1.0
			for i, w := range ways {
				behind := shows>>i&1 == 1
				for j, under := range ways {
					behind = behind || under.under == i && shows>>j&1 == 1
				}
				if behind && slices.Contains(wanted, w.cause) {
					missed *= miss[w.cause]
				}
			}
			exposed += mass * (1 - missed)
		}
	}
	return exposed / seen
}

// What each step finds of what failed and of what brought it on, and what there
// is to find, against the enumeration of every state.
func TestWhatTheStepsFindOfBothAgreesWithEnumeration(t *testing.T) {
	book := broughtOn(t)
	r, err := Diagnose(book, caseOf(t, book, "state: isolated}\nfindings: {leaks: present}\n"))
	require.NoError(t, err)
	miss := map[string]float64{"seal": 1, "rod": 1, "dirt": 1}
	for _, s := range r.Steps {
		if s.Kind == work.StepCheck {
			for _, f := range book.Checks.Get(s.ID).Finds {
				miss[f.Cause] *= 1 - f.Sure
			}
		}
		assert.InDelta(t, foundByEnumeration(miss, "seal", "rod", "dirt"), s.FoundByHere, 1e-9, s.ID)
		assert.InDelta(t, foundByEnumeration(miss, "seal"), s.FailureByHere, 1e-9, s.ID)
		assert.InDelta(t, foundByEnumeration(miss, "rod", "dirt"), s.RootByHere, 1e-9, s.ID)
	}
	last := r.Steps[len(r.Steps)-1]
	assert.InDelta(t, foundByEnumeration(map[string]float64{}, "seal"), r.Failure.There, 1e-9)
	assert.InDelta(t, foundByEnumeration(map[string]float64{}, "rod", "dirt"), r.Root.There, 1e-9)
	assert.Equal(t, last.FailureByHere, r.Failure.Found)
	assert.Equal(t, last.RootByHere, r.Root.Found)
	assert.Equal(t, map[string]string{"look-seal": "failure", "look-rod": "root", "look-mud": "root"},
		map[string]string{"look-seal": stepOf(t, r.Steps, "look-seal").Settles, "look-rod": stepOf(t, r.Steps, "look-rod").Settles, "look-mud": stepOf(t, r.Steps, "look-mud").Settles})
	assert.Empty(t, r.NotLooked)
}

// The failure and its roots are looked at behind one opening, and nothing is
// closed between.
func TestTheRootIsLookedAtBehindTheSameOpening(t *testing.T) {
	book := broughtOn(t)
	r, err := Diagnose(book, caseOf(t, book, "state: stopped}\nfindings: {leaks: present}\n"))
	require.NoError(t, err)
	assert.True(t, r.Order.Shortest)
	inside := slices.DeleteFunc(checksOf(r.Steps), func(id string) bool { return id == "look-mud" })
	require.Equal(t, []string{"look-seal", "glance", "look-rod"}, inside)
	opened := 0
	for _, s := range r.Steps {
		if s.Kind == work.StepOpening {
			opened++
		}
		if s.Kind == work.StepCheck {
			assert.NotEmpty(t, s.Settles, s.ID)
		}
	}
	assert.Equal(t, 1, opened)
}

// With the failure proved and its place open, the next look is at its root, and
// the way back begins with what was not looked at.
func TestAProvedFailureLeadsToItsRoot(t *testing.T) {
	book := broughtOn(t)
	r, err := Diagnose(book, caseOf(t, book, "state: isolated, open: [door]}\nfindings: {leaks: present}\nconfirmed: [seal]\n"))
	require.NoError(t, err)
	var next work.Step
	for _, s := range r.Steps {
		require.NotEqual(t, work.StepOpening, s.Kind)
		if s.Kind == work.StepCheck && next.ID == "" {
			next = s
		}
	}
	assert.Contains(t, []string{"look-rod", "glance"}, next.ID) // ten minutes' worth each: 0.9/6 and 0.3/1
	assert.Equal(t, work.SettlesRoot, next.Settles)
	assert.Contains(t, checksOf(r.Steps), "look-rod")
	assert.Contains(t, checksOf(r.Steps), "look-mud")
	assert.InDelta(t, 0.0, r.Failure.There, 1e-12)
	assert.Greater(t, r.Root.Found, 0.5)
	assert.LessOrEqual(t, r.Root.Found, r.Root.There)
	back := r.Steps[slices.IndexFunc(r.Steps, func(s work.Step) bool { return s.Kind == work.StepReturn })]
	assert.Equal(t, "First see that this was looked at: Rod bent; Dirty mud. It may have brought on what was proved. x", back.Do)
}

// A likely root that only a look behind much opening would show, and that adds too
// little to open it, is said not to be looked at.
func TestWhatTheStepsDoNotLookAtIsSaid(t *testing.T) {
	book := changedBook(t, "least-gain: 0.01", "least-gain: 0.2",
		"pump: any, minutes: 4, do: x, finds: {dirt: 0.4}", "pump: isolated, openings: [crankcase], minutes: 4, do: x, finds: {dirt: 0.4}")
	r, err := Diagnose(book, caseOf(t, book, "state: isolated}\nfindings: {leaks: present}\n"))
	require.NoError(t, err)
	require.NotContains(t, checksOf(r.Steps), "look-mud")
	require.Len(t, r.NotLooked, 1)
	assert.Equal(t, work.NotLooked{Root: r.NotLooked[0].Root, Of: "Seal worn", Look: "See the mud"}, r.NotLooked[0])
	assert.Equal(t, "dirt", r.NotLooked[0].Cause)
	assert.Contains(t, r.Notes, "The steps do not look at: Dirty mud. It may have brought on what failed.")
}

// Who goes straight to prove a failure still makes the look at its root that the
// isolated pump does not allow any more, and no other.
func TestGoingStraightKeepsWhatWouldBeLost(t *testing.T) {
	for name, c := range map[string]struct {
		change []string
		passes bool
	}{
		"the mud is looked at in any state":        {nil, false},
		"the mud is looked at on the running pump": {[]string{"pump: any, minutes: 4", "pump: running, minutes: 1"}, true},
	} {
		t.Run(name, func(t *testing.T) {
			book := changedBook(t, slices.Concat(c.change, []string{"likely: 0.9", "likely: 0.8"})...)
			r, err := Diagnose(book, caseOf(t, book, "state: running}\nfindings: {leaks: present}\n"))
			require.NoError(t, err)
			require.NotNil(t, r.GoStraight)
			require.Equal(t, "look-seal", r.GoStraight.Check)
			i := slices.IndexFunc(r.Steps, func(s work.Step) bool { return s.ID == "look-mud" })
			require.GreaterOrEqual(t, i, 0)
			if c.passes {
				assert.Less(t, r.Steps[i].Number, r.GoStraight.Step)
			}
			assert.Equal(t, c.passes, r.GoStraight.Passes(r.Steps[i].Number))
			assert.False(t, r.GoStraight.Passes(stepOf(t, r.Steps, "look-rod").Number), "what stays possible with the place open is no detour")
		})
	}
}

// A plan for a failure that the mechanic names looks at its roots too, and has
// their parts at hand: the rod is taken in half of the cases in which it is bent,
// and its share of the worn seal is 0.2*0.5/0.18775.
func TestThePlanForAFailureIsForItsRootsToo(t *testing.T) {
	book := broughtOn(t)
	plan, err := PlanTeardown(book, caseOf(t, book, "state: stopped}\n"), []evidence.At{{ID: "seal"}})
	require.NoError(t, err)
	assert.Subset(t, checksOf(plan.Steps), []string{"look-seal", "look-rod"})
	require.Len(t, plan.For, 1)
	assert.Equal(t, "rod", plan.For[0].BroughtOnBy[0].Cause)
	share := 0.2 * 0.5 / 0.18775
	assert.InDelta(t, share, plan.For[0].BroughtOnBy[0].Probability, 1e-12)
	spares := map[string]float64{}
	for _, s := range plan.Spares {
		spares[s.Part] = s.Chance
	}
	assert.InDelta(t, 0.9, spares["seal-ring"], 1e-12)
	assert.InDelta(t, share*0.5, spares["rod-whole"], 1e-12)
	assert.InDelta(t, 1.0, plan.Failure.There, 1e-12)
	assert.InDelta(t, 0.95, plan.Failure.Found, 1e-12)
	assert.InDelta(t, 1-(0.05*0.9*0.95)/0.18775, plan.Root.There, 1e-12, "neither of the two brought it on")
	assert.Empty(t, plan.NotLooked)
}

// While it is open: a look at a likely root that is not in the list is named
// whatever it saves; given the worn seal the rod is bent with 0.2*(0.5 + 0.5*P)
// over 0.18775, P being that the seal is worn without it: 1 - 0.95*0.95.
func TestARootIsNamedWhileItIsOpen(t *testing.T) {
	book := changedBook(t, "least-gain: 0.01", "least-gain: 0.5", "most-looks: 3", "most-looks: 0", "minutes: 6, do: x, finds: {rod: 0.9}", "minutes: 60, do: x, finds: {rod: 0.9}")
	plan, err := PlanTeardown(book, caseOf(t, book, "state: stopped}\n"), []evidence.At{{ID: "seal"}})
	require.NoError(t, err)
	require.Equal(t, []string{"look-seal"}, checksOf(plan.Steps))
	named := map[string]work.Extra{}
	for _, e := range plan.WhileOpen {
		named[e.Check] = e
	}
	require.Len(t, named, 2)
	assert.True(t, named["glance"].Pays && named["glance"].Root && !named["look-rod"].Pays && named["look-rod"].Root)
	assert.InDelta(t, 0.9*0.2*(0.5+0.5*(1-0.95*0.95))/0.18775, named["look-rod"].Chance, 1e-12)
	require.Len(t, plan.NotLooked, 2)
}
