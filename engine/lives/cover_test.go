package lives

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// third draws lives of which a third is cut short, each at an age of its own.
func third(random *rand.Rand, n int, shape, scale float64) []Life {
	var all []Life
	for range n {
		h, cut := drawWeibull(random, shape, scale), drawWeibull(random, shape, scale*math.Pow(2, 1/shape))
		all = append(all, Life{Hours: min(h, cut), End: failedIf(h < cut)})
	}
	return all
}

// running draws the record of three places, new at the start and watched over the hours
// of about n lives.
func running(random *rand.Rand, n int, shape, scale float64) []Life {
	r := Record{Places: make([]Place, 3)}
	for i := range r.Places {
		p := &r.Places[i]
		p.To = float64(n) / 3 * scale * math.Gamma(1+1/shape)
		for t := 0.0; t < p.To; t += drawWeibull(random, shape, scale) {
			p.Changed = append(p.Changed, t)
		}
	}
	all, err := r.Lives()
	if err != nil {
		panic(err)
	}
	return all
}

func (e Estimate) holds(truth float64) bool {
	return truth >= e.Low && (e.High == nil || truth <= *e.High)
}

// The limits hold the truth about as often as they say, the few lives of a pump
// included, whatever cuts lives short. With -v many draws and a table.
func TestLimitsCover(t *testing.T) {
	draws, shapes := 150, []float64{1, 3}
	if testing.Verbose() {
		draws, shapes = 2000, []float64{0.8, 1, 3}
		t.Logf("of %d records each with 95 %% limits: how many in 100 hold the truth", draws)
	}
	const scale, ratio = 500.0, 5
	names := []string{"shape", "median", "tenth", "failing", "age", "saves"}
	for _, c := range []struct {
		name string
		draw func(random *rand.Rand, n int, shape, scale float64) []Life
	}{{"a third cut", third}, {"running", running}} {
		for _, shape := range shapes {
			for _, n := range []int{5, 10, 30} {
				t.Run(fmt.Sprintf("%s, shape %g, %d lives", c.name, shape, n), func(t *testing.T) {
					random := rand.New(rand.NewPCG(uint64(n), 6))
					in, told, failed := map[string]float64{}, map[string]float64{}, 0
					tell := func(name string, e Estimate, truth float64) {
						told[name]++
						if e.holds(truth) {
							in[name]++
						}
					}
					better, gained := 0.0, 0.0
					for range draws {
						w, err := Fit(c.draw(random, n, shape, scale), 0.95)
						require.NoError(t, err)
						if w == nil {
							continue
						}
						failed += w.failed
						tell("shape", w.Shape, shape)
						tell("median", w.Median, scale*math.Pow(math.Ln2, 1/shape))
						tell("tenth", w.Tenth, scale*math.Pow(-math.Log(0.9), 1/shape))
						failing, err := w.Failing(scale/2, scale/4)
						require.NoError(t, err)
						tell("failing", failing, 1-math.Exp(math.Pow(0.5, shape)-math.Pow(0.75, shape)))
						change, err := w.ChangeAt(ratio)
						require.NoError(t, err)
						if change.Age == nil {
							continue
						}
						if shape <= 1 {
							told["worn"]++
							continue
						}
						tell("age", *change.Age, scale*bestAge(shape, ratio))
						saves := saving(shape, change.Age.Value/scale, ratio)
						tell("saves", *change.Saves, saves)
						if saves > 0 {
							better++
						}
						gained += saves / saving(shape, bestAge(shape, ratio), ratio)
					}
					line := fmt.Sprintf("%.1f failed; no fit %.1f;", float64(failed)/told["shape"], 100*(1-told["shape"]/float64(draws)))
					for _, name := range names {
						if told[name] < 100 {
							continue
						}
						line += fmt.Sprintf(" %s %.1f;", name, 100*in[name]/told[name])
						// The age and its saving are told only of records that show wear-out.
						assert.Greater(t, in[name]/told[name], 0.89, name)
					}
					if shape > 1 {
						line += fmt.Sprintf(" an age is told in %.0f, saves in truth in %.1f of these, %.0f of what the best age would", 100*told["age"]/float64(draws), 100*better/told["age"], 100*gained/told["age"])
					} else {
						line += fmt.Sprintf(" called worn out %.1f", 100*told["worn"]/float64(draws))
						assert.Less(t, told["worn"]/float64(draws), 0.06)
					}
					t.Log(line)
				})
			}
		}
	}
}
