package evidence

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func gaugedText(rest string) string {
	return "pump: {action: triplex-single-acting, state: running, speed: 70 strokes/min, discharge: 100 bar}\nmeasured:\n  before-and-now:\n" + rest
}

func TestBeforeAndNow(t *testing.T) {
	k := parsed(t, gaugedText(`    before: {discharge: 200 bar, speed: 100 strokes/min, charge-pressure: 4 bar, load: 410}
    now: {charge-pressure: 0 bar, load: 0}
    drive-setting: same
    mud: oil-mud
    two-rates: {slow: {speed: 30 strokes/min, discharge: 20 bar}, fast: {speed: 100 strokes/min, discharge: 200 bar}}
`))
	b := k.Measured.BeforeAndNow
	assert.True(t, k.Measured.Any())
	assert.Equal(t, []string{"before-and-now"}, k.Measured.Blocks())
	assert.InDelta(t, 2e7, b.Before.Discharge.SI, 1e-6)
	assert.InDelta(t, 410, b.Before.Load.SI, 1e-9)
	assert.InDelta(t, 1e7, b.Now.Discharge.SI, 1e-6, "the pump's own figure, where now: has none")
	assert.InDelta(t, 70.0/60, b.Now.Speed.SI, 1e-9)
	assert.Zero(t, b.Now.ChargePressure.SI)
	assert.True(t, b.SameSetting)
	assert.Equal(t, "oil-mud", b.Mud)
	require.Len(t, b.TwoRates, 2)
	assert.False(t, b.Same(b.TwoRates[0]))
	assert.True(t, b.Same(b.TwoRates[1]))
	m := k.Measured.Without(map[string]bool{"before-and-now": true})
	assert.False(t, m.Any())
}

func TestBeforeAndNowReportsEveryMistake(t *testing.T) {
	const before = "    before: {discharge: 200 bar, speed: 100 strokes/min}\n    now: {}\n"
	for name, c := range map[string]struct{ text, want string }{
		"now missing":     {"    before: {discharge: 200 bar}\n", `before-and-now has no "now"`},
		"key":             {before + "    muds: water\n", `before-and-now has no key "muds"; expected one of: before, drive-setting, mud, now, two-rates; did you mean mud?`},
		"inner key":       {"    before: {pressure: 200 bar}\n    now: {}\n", `before has no key "pressure"; expected one of: charge-pressure, discharge, load, speed`},
		"unit":            {"    before: {discharge: 200 strokes/min}\n    now: {}\n", `"200 strokes/min" is a stroke-rate; expected a pressure`},
		"nothing before":  {"    before: {discharge: 0 bar}\n    now: {}\n", `"0 bar" before the trouble is nothing; expected more than zero`},
		"load":            {"    before: {load: much}\n    now: {}\n", `load must be a number from 0 to 1e+09; read "much"`},
		"mud":             {before + "    mud: oil\n", `unknown mud "oil"; expected one of: oil-mud, water; did you mean oil-mud?`},
		"setting":         {before + "    drive-setting: no\n", `unknown setting of the drive "no"; expected one of: changed, same`},
		"far apart":       {"    before: {speed: 2000 strokes/min}\n    now: {}\n", "2000 strokes/min and 70 strokes/min are too far apart for one pump; is the unit right?"},
		"one rate":        {before + "    two-rates: {slow: {speed: 30 strokes/min, discharge: 20 bar}}\n", `two-rates has no "fast"`},
		"a rate in part":  {before + "    two-rates: {slow: {speed: 30 strokes/min}, fast: {speed: 40 strokes/min, discharge: 20 bar}}\n", `slow has no "discharge"`},
		"rates at one":    {before + "    two-rates: {slow: {speed: 30 strokes/min, discharge: 20 bar}, fast: {speed: 30 strokes/min, discharge: 21 bar}}\n", "slow: is at 30 strokes/min and fast: at 30 strokes/min; expected fewer strokes at slow:"},
		"a rate of now":   {before + "    two-rates: {slow: {speed: 30 strokes/min, discharge: 21 bar}, fast: {speed: 70 strokes/min, discharge: 100 bar}}\n", "this is the reading of now; two-rates are readings from before the trouble"},
		"rates far apart": {before + "    two-rates: {slow: {speed: 1 strokes/min, discharge: 20 bar}, fast: {speed: 30 strokes/min, discharge: 21 bar}}\n", "1 strokes/min and 30 strokes/min are too far apart for one pump; is the unit right?"},
		"rates no list":   {before + "    two-rates: 3\n", "two-rates"},
		"no mapping":      {"    before: 3\n    now: {}\n", "before"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := parseText(gaugedText(c.text))
			require.ErrorContains(t, err, c.want)
		})
	}
}
