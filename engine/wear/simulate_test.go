package wear

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine/measure"
)

// world is what a simulation draws from.
type world struct {
	readings, corrections int
	noise                 float64 // true doubt of a reading, in what is said of it
	mistakes              float64 // share
	wild                  bool    // mistakes of 5 to 30 uncertainties either way, not normal ones
}

// draw draws a part that wears, its readings, and the hour at which it is past its limit.
func (w world) draw(random *rand.Rand) (Question, float64) {
	q := Question{Confidence: 0.95, Misread: 0.05, Grows: random.IntN(2) == 0, Limit: 50 * random.NormFloat64()}
	cuts := random.Perm(w.readings - 1)[:w.corrections] // corrections are made after these readings
	hour, u := 1000*random.Float64(), math.Exp2(2*random.Float64())
	rate := u * math.Exp(1.5*random.NormFloat64()) / 100
	run, worn := 0, 0.0
	var start float64
	for i := range w.readings {
		step := 20 + 200*random.Float64()
		hour, worn = hour+step, worn+rate*step
		if i == 0 {
			start = hour
		}
		ui := u * (1 + random.Float64())
		past := worn + w.noise*ui*random.NormFloat64()
		if random.Float64() < w.mistakes {
			if w.wild {
				past = worn + math.Copysign(5+25*random.Float64(), random.Float64()-0.5)*ui
			} else {
				past = worn + 10*w.noise*ui*random.NormFloat64()
			}
		}
		q.Readings = append(q.Readings, Reading{Hours: hour, Run: run, Value: measure.Value{Mean: past, U: ui}})
		for _, c := range cuts {
			if c == i {
				run++
				worn -= 30 * u * random.Float64()
			}
		}
	}
	q.Run = run
	last := q.Readings[w.readings-1].Hours
	q.Now = last + 50*random.Float64()
	first := last
	for _, r := range q.Readings {
		if r.Run == run {
			first = math.Min(first, r.Hours)
		}
	}
	due := first + (last-first+2*(last-start))*random.Float64()
	at := worn + rate*(due-last) // what is to be the limit
	for i := range q.Readings {
		q.Readings[i].Mean = q.Limit + q.sign()*(q.Readings[i].Mean-at)
	}
	return q, due
}

// coverage is how often, of drawn parts, the interval of the hour at which the limit is
// due holds the true one; the true one is earlier or later; the interval has no end.
type coverage struct{ in, early, late, none float64 }

func (c coverage) plus(d coverage) coverage {
	return coverage{c.in + d.in, c.early + d.early, c.late + d.late, c.none + d.none}
}

func (w world) cover(t *testing.T, random *rand.Rand, draws int) coverage {
	t.Helper()
	var out coverage
	for range draws {
		q, due := w.draw(random)
		trend := fit(t, q)
		require.Contains(t, []Outcome{Ahead, Past}, trend.Outcome)
		first := trend.fit.start + trend.fit.middle // From there stands for before as well
		switch {
		case trend.Due.From == nil || *trend.Due.From > first+1e-9 && due < *trend.Due.From:
			out.early++
		case trend.Due.To != nil && due > *trend.Due.To:
			out.late++
		default:
			out.in++
		}
		if trend.Due.To == nil {
			out.none++
		}
	}
	return out
}

// worlds are the columns of the table.
var worlds = []struct {
	name string
	world
}{
	{"noise as said", world{noise: 1}},
	{"noise twice", world{noise: 2}},
	{"as said, mistakes", world{noise: 1, mistakes: 0.05}},
	{"twice, mistakes", world{noise: 2, mistakes: 0.05}},
	{"as said, wild mistakes", world{noise: 1, mistakes: 0.05, wild: true}},
	{"noise three times", world{noise: 3}},
}

// How often the interval holds the true hour. TELLTALE_DRAWS=2000 prints the table of
// doc.go with -v and holds each of its fields; without it all rows go together.
func TestCoverage(t *testing.T) {
	draws, whole := 25, false
	if given, err := strconv.Atoi(os.Getenv("TELLTALE_DRAWS")); err == nil {
		draws, whole = given, true
	}
	head := "readings corrections"
	for _, w := range worlds {
		head += " | " + w.name
	}
	t.Log(head)
	all, rows := make([]coverage, len(worlds)), 0.0
	for _, n := range []int{3, 4, 6, 10, 20} {
		for c := 0; c <= 3 && n-c >= 2; c++ { // with fewer no run has two readings
			row := fmt.Sprintf("%8d %11d", n, c)
			for i, w := range worlds {
				w.readings, w.corrections = n, c
				got := w.cover(t, rand.New(rand.NewPCG(1, uint64(n*10+c))), draws)
				all[i] = all[i].plus(got)
				share := 100 / float64(draws)
				row += fmt.Sprintf(" | %5.1f (early %3.1f late %3.1f) no end %2.0f", share*got.in, share*got.early, share*got.late, share*got.none)
				if least := leastHeld(w.world, 1); whole && got.in/float64(draws) < least-3*math.Sqrt(0.05/float64(draws)) {
					t.Errorf("%d readings, %d corrections, %s: %.1f of 100, not %.1f", n, c, w.name, share*got.in, 100*least)
				}
			}
			t.Log(row)
			rows++
		}
	}
	for i, w := range worlds {
		n := rows * float64(draws)
		t.Logf("%s: %.1f of 100", w.name, 100*all[i].in/n)
		assert.GreaterOrEqual(t, all[i].in/n, leastHeld(w.world, 0)-2.5*math.Sqrt(0.05/n), w.name)
		assert.LessOrEqual(t, all[i].early/n, 0.035+2.5*math.Sqrt(0.025/n), w.name)
	}
}

// leastHeld is how often the interval must hold the truth: in one field of the table, or
// over all rows.
func leastHeld(w world, one float64) float64 {
	if w.noise > 2 {
		return 0.91 - 0.02*one
	}
	return 0.94 - 0.01*one
}

// The interval is not right by being wide: with 20 readings as good as they say, the rate's
// is at most a quarter wider than if their doubt were known and none could be misread.
func TestTheIntervalIsNotTooWide(t *testing.T) {
	random := rand.New(rand.NewPCG(9, 10))
	wide, least := 0.0, 0.0
	for range 60 {
		q, _ := world{readings: 20, corrections: 1, noise: 1}.draw(random)
		trend := fit(t, q)
		points := pointsOf(q, q.series(0))
		known := lineOf(sumsOf(points, 0))
		low := trend.fit.estimate(func(w way) (mean, scale float64) { return w.rate, w.rateDoubt() })
		wide += low.High - low.Low
		least += 2 * 1.96 / math.Sqrt(known.lever)
	}
	t.Logf("%.2f times", wide/least)
	assert.Less(t, wide/least, 1.25)
	assert.Greater(t, wide/least, 1.0)
}
