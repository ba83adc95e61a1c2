package wear

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"telltale/engine/measure"
)

// The chance that it is past its limit, by plain integration over rate, levels and scatter
// of the product of the mixtures of each reading: no sets, no least squares, no Student.
func TestPastByPlainIntegration(t *testing.T) {
	value := func(x float64) measure.Value { return measure.Value{Mean: x, U: 1} }
	for name, readings := range map[string][]Reading{
		"one of them far off":     {{Hours: 0, Value: value(-20)}, {Hours: 400, Value: value(-7)}, {Hours: 1000, Value: value(-6)}, {Hours: 1100, Value: value(-3)}},
		"a correction in between": {{Hours: 0, Value: value(-9)}, {Hours: 600, Value: value(-4)}, {Hours: 650, Run: 1, Value: value(-12)}, {Hours: 1300, Run: 1, Value: value(-5)}},
	} {
		t.Run(name, func(t *testing.T) {
			q := Question{Readings: readings, Run: readings[len(readings)-1].Run, Now: 1300, Grows: true, Confidence: 0.95, Misread: 0.05}
			trend, err := Fit(q)
			assert.NoError(t, err)
			hours := []float64{1300, 1700, 2500}
			for i, want := range integrated(readings, hours, 0.05) {
				assert.InDelta(t, want, trend.fit.past(hours[i]-trend.fit.middle), 4e-3, "%g h", hours[i])
			}
		})
	}
}

func integrated(readings []Reading, hours []float64, share float64) []float64 {
	density := func(z float64) float64 { return math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) }
	const mid = 600.0
	run := readings[len(readings)-1].Run
	all, past := 0.0, make([]float64, len(hours))
	for k := 0.35; k < 60; k *= 1.2 {
		prior := math.Pow(k, -(priorFree+1)) * math.Exp(-priorFree*priorSpare/(2*k*k)) * k
		step, dl := 0.001*math.Min(k, 4), 0.7*math.Min(k, 3)
		for rate := -0.15; rate < 0.18; rate += step {
			whole := prior * step
			for r := 0; r <= run; r++ {
				sum, over := 0.0, make([]float64, len(hours))
				for level := -90.0; level < 70; level += dl {
					product := dl
					for _, x := range readings {
						if x.Run == r {
							z := (x.Mean - level - rate*(x.Hours-mid)) / (k * x.U)
							product *= ((1-share)*density(z) + share/wider*density(z/wider)) / k
						}
					}
					sum += product
					for i, h := range hours { // the part of the step that is past
						over[i] += product * math.Min(1, math.Max(0, (level+rate*(h-mid))/dl+0.5))
					}
				}
				if r == run {
					for i := range hours {
						past[i] += whole * over[i]
					}
				}
				whole *= sum
			}
			all += whole
		}
	}
	for i := range past {
		past[i] /= all
	}
	return past
}
