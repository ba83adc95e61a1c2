package engine

import (
	"math/rand/v2"
	"sort"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine/chances"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

// drawnCase draws one or two causes from the built-in book's own model on a
// pump of the given kind and reports up to most of the signs that they
// show, and some that are absent.
func drawnCase(r *rand.Rand, book *rules.Book, action evidence.Action, most int) *evidence.Case {
	k := &evidence.Case{Pump: evidence.Pump{
		Layout: evidence.Layout{Action: action, Cylinders: evidence.DefaultCylinders(action)},
		State:  []evidence.PumpState{evidence.Running, evidence.Stopped, evidence.Isolated}[r.IntN(3)], Rotation: evidence.RotationUnknown,
	}}
	m := chances.New(book, k)
	for len(k.Findings) == 0 {
		hidden := m.Causes[r.IntN(len(m.Causes))]
		for _, link := range hidden.Cause.LinksFor(k, book) {
			sign := book.Signs.Get(link.Sign)
			if len(k.Findings) == most || !sign.When.HoldsForPump(&k.Pump) || r.Float64() > link.Total {
				continue
			}
			at := k.Pump.Under(hidden.Place, sign.Level)
			place := at[r.IntN(len(at))]
			kind := ""
			if len(sign.Kinds) > 0 {
				u := r.Float64() * link.Total
				for i, share := range link.Kinds {
					if kind = sign.Kinds[i].ID; u < share {
						break
					}
					u -= share
				}
			}
			k.Findings = append(k.Findings, evidence.Finding{Sign: sign.ID, Answer: evidence.Present, Kind: kind, At: place, Over: []evidence.Place{place}})
		}
	}
	return k
}

func action(i int) evidence.Action {
	return []evidence.Action{evidence.Triplex, evidence.Duplex}[i%2]
}

// The list is never behind the likeliest-first way or the fixed order through
// the same steps, and what is called shortest has no bound below it.
func TestOrderIsNeverBehindOtherWays(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	r := rand.New(rand.NewPCG(5, 1))
	for i := range 150 {
		k := drawnCase(r, book, action(i), 1+i%6)
		report, err := Diagnose(book, k)
		require.NoError(t, err)
		require.Empty(t, unsafe(book, k, report))
		if report.Order == nil {
			continue
		}
		for name, other := range map[string]float64{"likeliest first": report.Order.LikeliestFirst, "fixed order": report.Order.Textbook} {
			if report.Order.Shortest {
				assert.LessOrEqual(t, report.ExpectedMinutes, other*(1+1e-9), "%s: %v", name, k.Findings)
			} else {
				assert.LessOrEqual(t, report.ExpectedMinutes, other*report.Order.Within, "%s: %v", name, k.Findings)
			}
		}
		assert.GreaterOrEqual(t, report.Order.Within, 1.0)
	}
}

// BenchmarkOrders prints what the order is worth on cases drawn from the
// built-in book: the time of the planner, how often the order is proved the
// shortest, and the mean minutes to the cause beside the two other ways.
func BenchmarkOrders(b *testing.B) {
	book, err := rules.BuiltIn()
	require.NoError(b, err)
	for _, kind := range []evidence.Action{evidence.Triplex, evidence.Duplex} {
		b.Run(string(kind), func(b *testing.B) {
			r := rand.New(rand.NewPCG(5, 2))
			var took []time.Duration
			var within []float64
			shortest, n := 0, 0
			var ours, likeliest, fixed float64
			for b.Loop() {
				b.StopTimer()
				k := drawnCase(r, book, kind, 1+r.IntN(6))
				w, err := chances.New(book, k).Weigh()
				require.NoError(b, err)
				b.StartTimer()
				start := time.Now()
				l, err := work.Plan(w)
				took = append(took, time.Since(start))
				b.StopTimer()
				require.NoError(b, err)
				if c := l.Order; c != nil {
					n++
					if c.Shortest {
						shortest++
					}
					within = append(within, c.Within)
					ours += l.ExpectedMinutes
					likeliest += c.LikeliestFirst
					fixed += c.Textbook
				}
				b.StartTimer()
			}
			sort.Slice(took, func(i, j int) bool { return took[i] < took[j] })
			sort.Float64s(within)
			b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "median-ms")
			b.ReportMetric(float64(took[len(took)-1].Microseconds())/1000, "worst-ms")
			b.ReportMetric(100*float64(shortest)/float64(n), "%shortest")
			b.ReportMetric(within[len(within)-1], "worst-within")
			b.ReportMetric(ours/float64(n), "min-ours")
			b.ReportMetric(likeliest/float64(n), "min-likeliest")
			b.ReportMetric(fixed/float64(n), "min-fixed")
		})
	}
}

// Looks at the running pump behind a return to service: each stands behind the
// guards of the running pump, and none is there if a stop condition holds.
func TestLooksWhenThePumpRunsAgainAreGuarded(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	r := rand.New(rand.NewPCG(5, 3))
	seen := 0
	for i := range 200 {
		k := drawnCase(r, book, action(i), 1+i%3)
		report, err := Diagnose(book, k)
		require.NoError(t, err)
		if report.RunAgain == nil {
			continue
		}
		seen++
		assert.NotEqual(t, evidence.Running, k.Pump.State)
		assert.Empty(t, report.Stop)
		done := map[string]bool{}
		last := report.Steps
		assert.NotEmpty(t, report.RunAgain.Steps)
		for n, step := range report.RunAgain.Steps {
			assert.Equal(t, n+1, step.Number)
			if step.Kind == work.StepSafety {
				done[step.ID] = true
				continue
			}
			check := book.Checks.Get(step.ID)
			assert.Equal(t, rules.NeedsRunning, check.Pump)
			for _, s := range book.Safety.List {
				if s.For == rules.ForRunning && s.When.Holds(k, book) {
					assert.True(t, done[s.ID], "%s stands before %s", step.ID, s.ID)
				}
			}
			for _, id := range check.Safety {
				assert.True(t, done[id], "%s stands before %s", step.ID, id)
			}
			assert.Greater(t, step.MinutesByHere, report.RunAgain.ReturnMinutes)
			if len(last) > 0 {
				assert.GreaterOrEqual(t, step.FoundByHere, last[len(last)-1].FoundByHere)
			}
		}
	}
	assert.Greater(t, seen, 20)
}
