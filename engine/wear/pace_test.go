package wear

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"
)

func day(n float64) time.Time {
	return time.Date(2025, 1, 1, 15, 30, 0, 0, time.UTC).AddDate(0, 0, int(n))
}

// The line through 0 by gonum, each period weighted by one over its days.
func TestPaceAgainstGonum(t *testing.T) {
	at, hours := []float64{0, 7, 20, 26, 61}, []float64{100, 190, 355, 420, 900}
	var meter []Meter
	var days, ran, weights []float64
	for i := range at {
		meter = append([]Meter{{day(at[i]), hours[i]}}, meter...)
		if i > 0 {
			days, ran = append(days, at[i]-at[i-1]), append(ran, hours[i]-hours[i-1])
			weights = append(weights, 1/days[i-1])
		}
	}
	p, err := PaceOf(meter)
	require.NoError(t, err)
	_, slope := stat.LinearRegression(days, ran, weights, true)
	assert.InDelta(t, slope, p.PerDay, 1e-12)
	assert.InDelta(t, 800.0/61, p.PerDay, 1e-12)
	rest := 0.0
	for i := range days {
		rest += weights[i] * math.Pow(ran[i]-slope*days[i], 2)
	}
	assert.InDelta(t, math.Sqrt(rest/3), p.Uneven, 1e-12)
	assert.InDelta(t, math.Hypot(math.Sqrt(rest/3/61), p.PerDay*dateDoubt/61), p.U, 1e-12)
}

func ptr(x float64) *float64 { return &x }

// A steady pump of 10 hours a day: 300 hours are 30 days.
func TestDatesOfASteadyPump(t *testing.T) {
	p, err := PaceOf([]Meter{{day(0), 0}, {day(5), 50}, {day(10), 100}, {day(15), 150}, {day(21), 210}, {day(30), 300}})
	require.NoError(t, err)
	d, err := p.Dates(Due{ptr(600), ptr(600), ptr(600)}, 0.95)
	require.NoError(t, err)
	assert.Equal(t, "2025-03-02", d.Middle.Format(time.DateOnly))
	assert.WithinRange(t, *d.From, day(57), *d.Middle)
	assert.WithinRange(t, *d.To, *d.Middle, day(63))
	d, err = p.Dates(Due{ptr(200), ptr(600), nil}, 0.95)
	require.NoError(t, err)
	assert.Equal(t, p.From, *d.From, "past already")
	assert.Nil(t, d.To, "never")
}

// A pace that somebody says, 12 +- 2 hours a day, and a part that is due from 600 to 1200
// hours on: doubts of the two go together by squares.
func TestDatesOfASaidPace(t *testing.T) {
	p := Pace{PerDay: 12, U: 1, From: day(0)}
	wide, err := p.Dates(Due{ptr(600), ptr(900), ptr(1200)}, 0.95)
	require.NoError(t, err)
	assert.InDelta(t, 75-math.Hypot(25, 75-900/(12+1.96)), daysBetween(day(0), *wide.From), 1.1)
	assert.InDelta(t, 75+math.Hypot(25, 900/(12-1.96)-75), daysBetween(day(0), *wide.To), 1.1)
	stands, err := Pace{From: day(0)}.Dates(Due{ptr(600), ptr(900), ptr(1200)}, 0.95)
	require.NoError(t, err)
	assert.Equal(t, Dates{}, stands, "a pump that stands never comes there")
}

func TestPacesThatCannotBe(t *testing.T) {
	for want, meter := range map[string][]Meter{
		"read on 2 dates":              {{day(0), 1}, {day(1), 2}, {day(1), 2}},
		"9 hours are less than the 10": {{day(0), 1}, {day(1), 10}, {day(2), 9}},
		"more than 24 a day":           {{day(0), 1}, {day(1), 10}, {day(2), 90}},
		"NaN hours":                    {{day(0), math.NaN()}},
		"-1 hours":                     {{day(0), -1}},
		"from 1900":                    {{time.Time{}, 1}},
	} {
		_, err := PaceOf(meter)
		assert.ErrorContains(t, err, want)
	}
	for want, p := range map[string]Pace{"25 hours a day": {PerDay: 25}, "uncertainty -1": {U: -1}, "freedom": {Free: -1}, "meter at NaN": {Hours: math.NaN()}} {
		_, err := p.Dates(Due{}, 0.95)
		assert.ErrorContains(t, err, want)
	}
	_, err := Pace{}.Dates(Due{}, 1)
	assert.ErrorContains(t, err, "confidence 1")
	_, err = Pace{}.Dates(Due{From: ptr(math.NaN())}, 0.95)
	assert.ErrorContains(t, err, "due at NaN")
}

// Of 1000 pumps that run by days that hang on nothing, the date of a known hour is in the
// interval in 95 of 100; of pumps that work for some ten days and stand for some five, and
// whose meter is read every 15 days, still in more than 88.
func TestHowOftenTheDatesHold(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 8))
	for name, c := range map[string]struct {
		spell    bool
		at, most float64
	}{"even days": {false, 0.93, 0.985}, "spells": {true, 0.88, 0.985}} {
		t.Run(name, func(t *testing.T) {
			held := 0.0
			for range 1000 {
				works, hours := true, 0.0
				next := func() {
					switch {
					case !c.spell:
						hours += 20 * random.Float64()
						return
					case works && random.Float64() < 0.1, !works && random.Float64() < 0.2:
						works = !works
					}
					if works {
						hours += 14 + 8*random.Float64()
					}
				}
				var meter []Meter
				d := 0.0
				for i := range 9 {
					meter = append(meter, Meter{day(d), hours})
					for range 15 * min(1, 8-i) {
						next()
						d++
					}
				}
				p, err := PaceOf(meter)
				require.NoError(t, err)
				target := hours + 600
				dates, err := p.Dates(Due{&target, &target, &target}, 0.95)
				require.NoError(t, err)
				for hours < target {
					next()
					d++
				}
				true := day(d)
				y, m, dd := true.Date()
				true = time.Date(y, m, dd, 0, 0, 0, 0, time.UTC)
				if !true.Before(*dates.From) && (dates.To == nil || !true.After(*dates.To)) {
					held++
				}
			}
			t.Logf("%.1f %%", held/10)
			assert.GreaterOrEqual(t, held/1000, c.at)
			assert.LessOrEqual(t, held/1000, c.most)
		})
	}
}

// Any meter gives an error or dates in their order, none before the newest reading.
func TestNoNonsenseOfAnyMeter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var meter []Meter
		at, hours := 0, 0.0
		for range rapid.IntRange(0, 20).Draw(t, "readings") {
			at += rapid.IntRange(0, 40).Draw(t, "days")
			hours += rapid.OneOf(rapid.Float64Range(0, 24), rapid.Float64Range(0, 500), rapid.Just(0.0), rapid.Just(-1.0), rapid.Just(1e9)).Draw(t, "hours")
			meter = append(meter, Meter{day(float64(at)), hours})
		}
		p, err := PaceOf(meter)
		if err != nil {
			return
		}
		from := hours + rapid.Float64Range(-500, 1e5).Draw(t, "from")
		middle := from + rapid.Float64Range(0, 1e4).Draw(t, "middle")
		to := middle + rapid.Float64Range(0, 1e4).Draw(t, "to")
		d, err := p.Dates(Due{&from, &middle, &to}, 0.95)
		require.NoError(t, err)
		last := p.From
		never := false
		for _, date := range []*time.Time{d.From, d.Middle, d.To} {
			if date == nil {
				never = true
				continue
			}
			require.False(t, never || date.Before(last), "%v", d)
			last = *date
		}
	})
}
