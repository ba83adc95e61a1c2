package figures_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine/figures"
	"telltale/rules"
)

func gaugedCase(before, now, rest string) string {
	return fmt.Sprintf("pump: {action: triplex-single-acting, state: running}\nmeasured: {before-and-now: {before: {%s}, now: {%s}%s}}\n", before, now, rest)
}

// Worked by hand. A gauge is read to 2 % either way, u = .02/root 3 = 1.155 %; strokes
// to half a stroke, u = .2887. At the same strokes 2400/2800 = .8571: 14.3 % low, with
// u = .8571 root(2 x .01155^2 + 2 x (n .2887/95)^2), n from 1.0 to 2.3: 1.65: 1.53 %.
// Half the strokes make 2^-n of the pressure: by 1.6 .3299, so 924 psi of 2800; 840 is
// then .9094 of it. Two readings of 1000 psi at 50 and 2800 psi at 100 strokes give n =
// ln 2.8 / ln 2 = 1.485, and 70 strokes 2800 x .7^1.485 = 1648 psi.
func TestThePressureIsHeldAgainstWhatTheStrokesMakeOfIt(t *testing.T) {
	for name, c := range map[string]struct {
		before, now, rest string
		by, u             float64
		expected          string
		exponent          *figures.Exponent
	}{
		"same strokes": {"discharge: 2800 psi, speed: 95 strokes/min", "discharge: 2400 psi, speed: 95 strokes/min", "", -0.142857, 0.01526, "", nil},
		"the same":     {"discharge: 200 bar, speed: 95 strokes/min", "discharge: 200 bar, speed: 95 strokes/min", "", 0, 0.0178, "", nil},
		"high":         {"discharge: 2000 psi, speed: 95 strokes/min", "discharge: 2400 psi, speed: 95 strokes/min", "", 0.2, 0.02137, "", nil},
		"half, drilling": {"discharge: 2800 psi, speed: 100 strokes/min", "discharge: 840 psi, speed: 50 strokes/min", ", mud: mud-drilling-rate", -0.0906, 0.0410, "924 psi (63.7 bar)",
			&figures.Exponent{Least: 1.5, Most: 1.7, Mud: "Mud at drilling rates"}},
		"half, unknown": {"discharge: 2800 psi, speed: 100 strokes/min", "discharge: 840 psi, speed: 50 strokes/min", "", -0.0585, 0.2476, "892 psi (61.5 bar)",
			&figures.Exponent{Least: 1, Most: 2.3}},
	} {
		t.Run(name, func(t *testing.T) {
			b := work(t, gaugedCase(c.before, c.now, c.rest)).BeforeAndNow
			require.NotNil(t, b.Pressure)
			assert.InDelta(t, c.by, b.Pressure.By.Mean, 2e-4)
			assert.InDelta(t, c.u, b.Pressure.By.U, 0.03*c.u)
			assert.Equal(t, c.exponent, b.Exponent)
			if c.expected != "" {
				assert.Equal(t, c.expected[:3], b.Pressure.Expected[:3])
			}
		})
	}
	b := work(t, gaugedCase("discharge: 2800 psi, speed: 100 strokes/min", "discharge: 1648 psi, speed: 70 strokes/min",
		", two-rates: {slow: {speed: 50 strokes/min, discharge: 1000 psi}, fast: {speed: 100 strokes/min, discharge: 2800 psi}}")).BeforeAndNow
	assert.InDelta(t, 0, b.Pressure.By.Mean, 5e-4)
	require.True(t, b.Exponent.Fitted)
	assert.InDelta(t, 1.485, (b.Exponent.Least+b.Exponent.Most)/2, 5e-4)
}

// A ratio whose doubt covers both nothing and the whole is not known, and weighs
// nothing; one that is small and known is.
func TestAChangeThatIsLostInItsDoubtIsNotWeighed(t *testing.T) {
	for now, known := range map[string]bool{
		"discharge: 2800 psi, speed: 20 strokes/min": false,
		"discharge: 0.1 psi, speed: 95 strokes/min":  true,
		"discharge: 2400 psi, speed: 70 strokes/min": true,
	} {
		t.Run(now, func(t *testing.T) {
			f := work(t, gaugedCase("discharge: 2800 psi, speed: 95 strokes/min", now, ""))
			assert.Equal(t, !known, f.BeforeAndNow.Pressure.By.NotKnown)
			assert.Equal(t, known, len(f.Values) > 0)
		})
	}
}

// The same by drawing every reading and the exponent many times. The reading of
// before is one of the two rates in the last: it is drawn once.
func TestTheDoubtOfAChangeBesideDrawnReadings(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	evenly := func(mean, half float64) float64 { return mean + half*(2*r.Float64()-1) }
	psi := func(x float64) float64 { return evenly(x, 0.02*x) }
	spm := func(x float64) float64 { return evenly(x, 0.5) }
	for name, c := range map[string]struct {
		text string
		draw func() float64
	}{
		"range": {gaugedCase("discharge: 2800 psi, speed: 95 strokes/min", "discharge: 2100 psi, speed: 85 strokes/min", ""), func() float64 {
			return psi(2100)/(psi(2800)*math.Pow(spm(85)/spm(95), evenly(1.65, 0.65))) - 1
		}},
		"two rates": {gaugedCase("discharge: 2800 psi, speed: 95 strokes/min", "discharge: 1500 psi, speed: 70 strokes/min", ", two-rates: {slow: {speed: 40 strokes/min, discharge: 700 psi}, fast: {speed: 90 strokes/min, discharge: 2550 psi}}"), func() float64 {
			n := math.Log(psi(700)/psi(2550)) / math.Log(spm(40)/spm(90))
			return psi(1500)/(psi(2800)*math.Pow(spm(70)/spm(95), n)) - 1
		}},
		"two rates, one of them before": {gaugedCase("discharge: 2800 psi, speed: 95 strokes/min", "discharge: 1500 psi, speed: 70 strokes/min", ", two-rates: {slow: {speed: 40 strokes/min, discharge: 700 psi}, fast: {speed: 95 strokes/min, discharge: 2800 psi}}"), func() float64 {
			p0, n0 := psi(2800), spm(95)
			n := math.Log(psi(700)/p0) / math.Log(spm(40)/n0)
			return psi(1500)/(p0*math.Pow(spm(70)/n0, n)) - 1
		}},
	} {
		t.Run(name, func(t *testing.T) {
			got := work(t, c.text).BeforeAndNow.Pressure.By
			n, sum, squares := 200_000, 0.0, 0.0
			for range n {
				x := c.draw()
				sum, squares = sum+x, squares+x*x
			}
			mean := sum / float64(n)
			assert.InDelta(t, mean, got.Mean, 0.003)
			assert.InDelta(t, 1, got.U/math.Sqrt(squares/float64(n)-mean*mean), 0.03)
		})
	}
}

func TestWhatTheOtherGaugesAreHeldAgainst(t *testing.T) {
	const before = "discharge: 2800 psi, speed: 95 strokes/min, charge-pressure: 60 psi, load: 400"
	for name, c := range map[string]struct {
		now, rest string
		values    map[rules.MeasuredValue]float64
		missing   string
	}{
		"charge low":             {"discharge: 2800 psi, speed: 95 strokes/min, charge-pressure: 45 psi", "", map[rules.MeasuredValue]float64{rules.ChargeUnderBy: 0.25, rules.ChargeOverBy: -0.25}, ""},
		"no charge":              {"speed: 95 strokes/min, charge-pressure: 0 psi", "", map[rules.MeasuredValue]float64{rules.ChargeUnderBy: 1}, ""},
		"charge, other strokes":  {"speed: 60 strokes/min, charge-pressure: 45 psi", "", nil, "the charge pressure at other strokes tells nothing; read it at the strokes of before"},
		"nearly the strokes":     {"speed: 93 strokes/min, charge-pressure: 60 psi", "", map[rules.MeasuredValue]float64{rules.ChargeUnderBy: 0}, ""},
		"load high":              {"discharge: 2800 psi, speed: 95 strokes/min, load: 480", "", map[rules.MeasuredValue]float64{rules.LoadOverBy: 0.2}, ""},
		"load with the pressure": {"discharge: 2100 psi, speed: 95 strokes/min, load: 300", "", map[rules.MeasuredValue]float64{rules.LoadFollowed: 1}, ""},
		"load as it was":         {"discharge: 2100 psi, speed: 95 strokes/min, load: 400", "", map[rules.MeasuredValue]float64{rules.LoadFollowed: 0}, ""},
		"load, other strokes":    {"discharge: 2100 psi, speed: 60 strokes/min, load: 400", "", nil, "the drive load is only held against the pressure at the same strokes; read both at the strokes of before"},
		"load alone":             {"speed: 95 strokes/min, load: 400", "", nil, "the drive load is only held against the pressure at the same strokes; read both at the strokes of before"},
		"strokes at one setting": {"speed: 76 strokes/min", ", drive-setting: same", map[rules.MeasuredValue]float64{rules.StrokesUnderBy: 0.2}, ""},
		"strokes, another one":   {"speed: 76 strokes/min", ", drive-setting: changed", nil, ""},
		"no strokes":             {"discharge: 2100 psi", "", nil, "the gauges now can only be held against those before with the strokes of both; give speed: in before: and now:"},
		"rates of no mud": {"discharge: 2100 psi, speed: 60 strokes/min", ", two-rates: {slow: {speed: 40 strokes/min, discharge: 100 psi}, fast: {speed: 90 strokes/min, discharge: 2550 psi}}",
			map[rules.MeasuredValue]float64{rules.PressureOverBy: 2100/(2800*math.Pow(60.0/95, 1.65)) - 1}, "two-rates give an exponent of 3.99, which no mud has (1 to 2.3); read both again at the same mud and depth"},
		"rates too near": {"discharge: 2100 psi, speed: 60 strokes/min", ", two-rates: {slow: {speed: 88 strokes/min, discharge: 2470 psi}, fast: {speed: 90 strokes/min, discharge: 2550 psi}}",
			map[rules.MeasuredValue]float64{rules.PressureOverBy: 2100/(2800*math.Pow(60.0/95, 1.65)) - 1}, "the strokes of two-rates are too near each other to tell more than the rulebook does"},
	} {
		t.Run(name, func(t *testing.T) {
			f := work(t, gaugedCase(before, c.now, c.rest))
			got := map[rules.MeasuredValue]float64{}
			for _, v := range f.Values {
				got[v.ID] = v.Of[0].Mean
			}
			for id, want := range c.values {
				assert.Contains(t, got, id)
				assert.InDelta(t, want, got[id], 1e-9, id)
			}
			if c.values == nil {
				for id := range got {
					assert.Contains(t, []rules.MeasuredValue{rules.PressureOverBy, rules.PressureUnderBy}, id)
				}
			}
			if c.missing == "" {
				assert.Empty(t, f.Missing)
			} else {
				assert.Equal(t, []string{c.missing}, f.Missing)
			}
			assert.False(t, c.values[rules.LoadFollowed] > 0 && got[rules.LoadOverBy] != 0, "the load is weighed once")
		})
	}
}
