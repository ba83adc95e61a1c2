package upkeep

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

// stopOf plans a stop on a rig.
func stopOf(t testing.TB, book *rules.Book, f files, hours float64) *Stop {
	t.Helper()
	s, err := OfStop(book, f.read(t, book), Options{Now: today}, hours)
	require.NoError(t, err)
	return s
}

// done are the tasks of a stop, by pump, kind, id and place; fills says whether those are
// counted that go into the hours that are left.
func done(s *Stop, fills bool) []string {
	var out []string
	for _, p := range s.Pumps {
		for _, task := range p.Tasks {
			if fills || !task.Fills {
				out = append(out, taskName(p.Pump, task))
			}
		}
	}
	return out
}

func taskName(pump string, t Task) string {
	return fmt.Sprintf("%s %s %s %s", pump, t.Kind, t.ID, t.Place)
}

// watch goes through the steps of a stop, by the book alone, and says what is wrong.
func watch(t *testing.T, book *rules.Book, s *Stop) {
	t.Helper()
	total := 0.0
	for _, p := range s.Pumps {
		var opened []evidence.At
		open, safe, minutes := map[evidence.At]bool{}, map[string]bool{}, 0.0
		for _, o := range p.Open {
			at := evidence.At{ID: o.ID, Place: o.Place}
			opened, open[at] = append(opened, at), len(p.Steps) > 0
		}
		for n, step := range p.Steps {
			require.Equal(t, n+1, step.Number)
			minutes += step.Minutes
			at := evidence.At{ID: step.ID, Place: step.Place}
			hands := func(openings []string) {
				for _, x := range book.Safety.List {
					if x.For == rules.ForIsolation && x.TakenOver == nil {
						assert.True(t, safe[x.ID] || x.When != nil, "%s: %s without %s", p.Pump, step.ID, x.ID)
					}
				}
				for _, id := range openings {
					here := slices.ContainsFunc(opened, func(o evidence.At) bool { return o.ID == id && o.Place.Touches(step.Place) })
					assert.True(t, here, "%s: %s at %s without %s", p.Pump, step.ID, step.Place, id)
				}
			}
			switch step.Kind {
			case work.StepSafety:
				safe[step.ID] = true
			case work.StepOpening:
				hands(book.Openings.Get(step.ID).Needs)
				assert.False(t, open[at], "%s: %s opened twice", p.Pump, step.ID)
				opened, open[at] = append(opened, at), true
			case work.StepDue:
				if part, is := strings.CutPrefix(step.ID, "change-"); is {
					hands(book.Parts.Get(part).ReachedBy)
				}
				if u := book.Upkeep.Get(step.ID); u != nil && u.Pump == rules.NeedsIsolated {
					hands(u.Openings)
				}
			case work.StepCheck:
				if c := book.Checks.Get(step.ID); c.Pump == rules.NeedsIsolated {
					hands(c.Openings)
				}
			case work.StepReturn:
				if book.Openings.Get(step.ID) != nil {
					assert.True(t, open[at], "%s: %s is closed and was not open", p.Pump, step.ID)
					delete(open, at)
				}
			}
		}
		for at, still := range open {
			assert.False(t, still, "%s: %s left open", p.Pump, at.ID)
		}
		assert.InDelta(t, p.Minutes, minutes, 1e-6)
		total += minutes
		if len(p.Tasks) > 0 {
			assert.NotEmpty(t, p.Steps)
		}
	}
	assert.InDelta(t, s.Minutes, total, 1e-6)
	assert.LessOrEqual(t, s.Minutes, 60*s.Hours+1e-6)
}

// drawn is a rig with what is due drawn at random: changes, repairs, shims and open jobs
// of two pumps that stand as they may.
func drawn(random *rand.Rand) files {
	f := files{"pumps/pump-1.yaml": pump, "pumps/pump-2.yaml": pump}
	parts := []string{"piston", "liner", "extension-rod", "clamp-bolts", "cap-screws"}
	for i := range 2 + random.IntN(4) {
		day := 1 + random.IntN(27) // of October: 760 h on the 4th
		more := fmt.Sprintf("changed: [{part: %s, at: %d}]\n", parts[random.IntN(len(parts))], 1+random.IntN(3))
		if random.IntN(3) == 0 {
			more = fmt.Sprintf("shims: [{at: %d, put-in: 5 thou}]\n", 1+random.IntN(3))
		}
		if random.IntN(3) == 0 {
			at := 1 + random.IntN(3)
			more += fmt.Sprintf("confirmed: [piston-worn: %d]\ncorrected: [piston-worn: %d]\n", at, at)
		}
		f[fmt.Sprintf("jobs/%02d.yaml", i)] = strings.Replace(job(fmt.Sprintf("2025-10-%02d", day), float64(720+10*day), more), "pump-1", fmt.Sprintf("pump-%d", 1+random.IntN(2)), 1)
	}
	open := []string{
		"pump: {state: running}\nfindings: {hiss: {2: suction-stroke, absent: [1, 3]}}\n",
		"pump: {state: isolated, open: [crosshead-cover-off: 2]}\nfindings: {knock: present}\n",
		"pump: {state: running}\nfindings: {knock: absent}\nconfirmed: [wiper-worn-out: 1]\n",
		"pump: {state: stopped}\nfindings: {mud-in-wash: {3: present}}\nconfirmed: [piston-worn: 3]\n",
		"pump: {state: running}\nfindings: {pit-gain: present}\n",
	}
	for i := range random.IntN(3) {
		f[fmt.Sprintf("jobs/open-%d.yaml", i)] = fmt.Sprintf("job: {pump: pump-%d, date: 2025-10-28, hours: 1000 h}\n", 1+i) + open[random.IntN(len(open))]
	}
	return f
}

// More hours never drop what fitted; nothing is opened twice or before what it needs, all
// is closed again, and what was due is told once: done, not fitting, or why not.
func TestAStopOfMoreHours(t *testing.T) {
	book, random := builtIn(t), rand.New(rand.NewPCG(7, 8))
	some, left := 0, 0
	for range 6 {
		f := drawn(random)
		var before *Stop
		var all []string
		for _, hours := range []float64{0.25, 1.5, 3, 5, 8, 12, 1000} {
			s := stopOf(t, book, f, hours)
			watch(t, book, s)
			now := done(s, false)
			told := done(s, true)
			for _, list := range [][]Task{s.NotNow, s.Cannot, s.Arrange} {
				for _, task := range list {
					told = append(told, taskName(task.Pump, task))
				}
			}
			if before != nil {
				for _, name := range done(before, false) {
					assert.Contains(t, now, name, "%g h", hours)
				}
				assert.Len(t, told, len(all), "everything is told once")
			}
			before, all = s, told
			some, left = some+len(now), left+len(s.NotNow)
		}
		assert.Empty(t, before.NotNow, "1000 h are enough")
	}
	assert.True(t, some > 50 && left > 10, "%d done, %d did not fit", some, left)
}

// By every way to choose among few things that are due: no more of what must be done goes
// into the hours, and among what may wait nothing that spares more hours a minute was left
// for something that spares fewer.
func TestAStopBesideEveryChoice(t *testing.T) {
	book := builtIn(t)
	random := rand.New(rand.NewPCG(3, 4))
	tried, more := 0, 0
	for range 8 {
		f := drawn(random)
		delete(f, "jobs/open-0.yaml")
		delete(f, "jobs/open-1.yaml")
		r := f.read(t, book)
		known, err := OfRig(book, r, Options{Now: today})
		require.NoError(t, err)
		var pumps []*pumpStop
		var all []offer
		for _, report := range known.Pumps {
			p := (&Stop{}).pump(report)
			pumps = append(pumps, p)
			for i, task := range p.tasks {
				if task.Must {
					all = append(all, offer{pump: p, task: i})
				}
			}
		}
		if len(all) == 0 || len(all) > 10 {
			continue
		}
		for _, hours := range []float64{2, 4, 6, 9} {
			best := 0
			for set := range 1 << len(all) {
				minutes, n := 0.0, 0
				for _, p := range pumps {
					var tasks []int
					for i, o := range all {
						if o.pump == p && set>>i&1 == 1 {
							tasks = append(tasks, o.task)
						}
					}
					if len(tasks) == 0 {
						continue
					}
					m, can := p.plan.Minutes(p.wanted(tasks))
					require.True(t, can)
					minutes, n = minutes+m, n+len(tasks)
				}
				if minutes <= 60*hours {
					best = max(best, n)
				}
			}
			s := stopOf(t, book, f, hours)
			musts := 0
			for _, p := range s.Pumps {
				for _, task := range p.Tasks {
					if task.Must {
						musts++
					}
				}
			}
			tried, more = tried+1, more+best-musts
			assert.GreaterOrEqual(t, musts, best-1, "%g h of %v", hours, done(s, true))
		}
	}
	require.Greater(t, tried, 10)
	assert.LessOrEqual(t, more, tried/20, "in %d stops so many more could have been done", tried)
}

// Two things behind the same opening, one that needs nothing opened, and one that is not
// due yet, with the minutes of the book added up by hand.
func TestAStopOnASmallRig(t *testing.T) {
	book := builtIn(t)
	f := files{
		"pumps/pump-1.yaml": strings.Replace(pump, "  - {what: discharge hose, until: 2025-10-01}\n", "", 1),
		"jobs/a.yaml":       job("2025-10-18", 900, "changed: [{part: piston, at: 2}, {part: clamp-bolts, at: 2}]\n"), // one look at the joint of 2
		"jobs/b.yaml":       job("2025-10-19", 910, "changed: [{part: liner, at: 2}]\n"),                              // a look at the liner of 2
		"jobs/c.yaml":       job("2025-10-28", 1000, "changed: [{part: piston, at: 3}]\n"),                            // due at 4024 h
	}
	stopping, closing := 0.0, 0.0
	for _, x := range book.Safety.List {
		if (x.For == rules.ForStopping || x.For == rules.ForIsolation) && x.When == nil {
			stopping += x.On(false).Minutes
		}
	}
	for _, x := range book.Returns.List {
		if len(x.Opened) == 0 && x.When == nil && x.Leads(false) {
			closing += x.Minutes
		}
	}
	liner, joint := book.Upkeep.Get("liner-fixing-again"), book.Upkeep.Get("rod-joint-again")
	space := book.Openings.Get("rod-space-open")
	s := stopOf(t, book, f, 24)
	watch(t, book, s)
	assert.Equal(t, []string{"pump-1 upkeep liner-fixing-again 2", "pump-1 upkeep rod-joint-again 2", "pump-1 upkeep rod-joint-again 3"}, done(s, false))
	tasks := s.Pumps[0].Tasks
	// The first takes the stop with it, the second its opening, the third one more.
	assert.InDelta(t, space.Minutes+space.Close.Minutes+joint.Minutes, tasks[2].Minutes, 1e-6)
	assert.GreaterOrEqual(t, tasks[0].Minutes, stopping+closing+liner.Minutes-1e-6)
	assert.Equal(t, []bool{true, true, false}, []bool{tasks[0].Must, tasks[1].Must, tasks[2].Must})
	assert.Contains(t, s.Tools, "torque wrench")

	short := stopOf(t, book, f, (tasks[0].Minutes+1)/60)
	assert.Equal(t, done(s, false)[:1], done(short, true))
	assert.Len(t, short.NotNow, 2)
	assert.True(t, short.NotNow[0].Must)
	assert.Equal(t, "rod-joint-again", short.NotNow[0].ID)
	assert.InDelta(t, 4024, *short.NotNow[1].Hours.Middle, 1e-9, "when it is due")

	none := stopOf(t, book, f, 0.1)
	assert.Empty(t, none.Pumps)
	assert.Len(t, none.NotNow, 3)
	assert.False(t, math.IsNaN(none.Minutes))

	// A pump that everybody must leave has no step, and its stop condition is told.
	f["jobs/open.yaml"] = "job: {pump: pump-1, date: 2025-10-28}\npump: {state: running}\nfindings: {pit-gain: present}\n"
	held := stopOf(t, book, f, 24)
	require.Len(t, held.Pumps, 1)
	assert.NotEmpty(t, held.Pumps[0].Stops)
	assert.Empty(t, held.Pumps[0].Steps)
	assert.Len(t, held.Cannot, 3)
}
