package figures_test

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine/figures"
)

// The same case written in inch and in metric gives the same figures. The distance of
// the plane is a fraction: a last digit would say in each unit how well it is known.
func TestInchAndMetricCasesGiveTheSameFigures(t *testing.T) {
	const in = `pump: {action: duplex-double-acting, state: running, liner: 6 1/2 in, stroke: 18 in, piston-rod: 2.5 in, connecting-rod: 45 in, speed: 60 spm, discharge: 1500 psi}
manual: {rod-load-most: 95000 lbf, guide-clearance-least: 12 thou}
measured:
  rod-in-opening: {left: {resolution: 0.5 thou, rod: parted, crosshead: seated, opening: 3.25 in, rod-diameter: 3 in, at: 56/2 in, guide-supports: {rear: 9 in, front: 10 in}, guide-slope: {slope: 6 thou/ft, within: 3 thou/ft, rises-toward: fluid-end}, back: {top: 137 thou, bottom: 113 thou, left: 125 thou, right: 125 thou}, middle: {top: 137 thou, bottom: 112 to 114 thou}, front: {top: 136 thou, bottom: 114 thou}}}
  upper-guide: {left: {resolution: 1 thou, each-reading-is: largest-leaf, rear: 30 thou, front: 29 thou}}
  rod-face-gap: {right: {resolution: 1 thou, top: 4 thou, bottom: 1 thou}}
  liner-bore: {left: {resolution: 1 thou, new: 6.5 in, stations: [{up-down: 6.519 in, across: 6.506 in}, {up-down: 6.524 in}]}}
  tank-test: {strokes: 400, strokes-within: 1, volume: 70 bbl, volume-within: 1 bbl}
suction-line: {mud-weight: 10 lb/gal, mud-above-pump: 4 ft, friction-head: 1 ft, air-pressure: 14.5 psi, vapour-pressure: 0.4 psi, head-needed: 8 ft, pipes: [{length: 20 ft, bore: 10 in}]}
shims-on-hand: [1 thou, 2 thou, 5 thou, {nominal: 10 thou, measures: 9.8 thou, pieces: 3}]
`
	const metric = `pump: {action: duplex-double-acting, state: running, liner: 165.1 mm, stroke: 457.2 mm, piston-rod: 63.5 mm, connecting-rod: 1.143 m, speed: 60 strokes/min, discharge: 10342.135939752541 kPa}
manual: {rod-load-most: 422.5810534497475 kN, guide-clearance-least: 0.3048 mm}
measured:
  rod-in-opening: {left: {resolution: 0.0127 mm, rod: parted, crosshead: seated, opening: 82.55 mm, rod-diameter: 76.2 mm, at: 7112/10 mm, guide-supports: {rear: 228.6 mm, front: 254 mm}, guide-slope: {slope: 0.5 mm/m, within: 0.25 mm/m, rises-toward: fluid-end}, back: {top: 3.4798 mm, bottom: 2.8702 mm, left: 3.175 mm, right: 3.175 mm}, middle: {top: 3.4798 mm, bottom: 2.8448 to 2.8956 mm}, front: {top: 3.4544 mm, bottom: 2.8956 mm}}}
  upper-guide: {left: {resolution: 25.4 µm, each-reading-is: largest-leaf, rear: 0.762 mm, front: 0.7366 mm}}
  rod-face-gap: {right: {resolution: 0.0254 mm, top: 0.1016 mm, bottom: 0.0254 mm}}
  liner-bore: {left: {resolution: 0.0254 mm, new: 165.1 mm, stations: [{up-down: 165.5826 mm, across: 165.2524 mm}, {up-down: 165.7096 mm}]}}
  tank-test: {strokes: 400, strokes-within: 1, volume: 11129.11064496 L, volume-within: 158.987294928 L}
suction-line: {mud-weight: 1198.264273166 kg/m3, mud-above-pump: 1.2192 m, friction-head: 0.3048 m, air-pressure: 99.97398075094123 kPa, vapour-pressure: 2.7579029172673443 kPa, head-needed: 2.4384 m, pipes: [{length: 6.096 m, bore: 254 mm}]}
shims-on-hand: [0.0254 mm, 0.0508 mm, 0.127 mm, {nominal: 0.254 mm, measures: 0.24892 mm, pieces: 3}]
`
	a, b := numbers(t, work(t, in)), numbers(t, work(t, metric))
	assert.Greater(t, len(a), 100)
	require.Len(t, b, len(a))
	for path, x := range a {
		if strings.HasSuffix(path, "/metric") {
			continue // says in which unit the crew reads
		}
		y, there := b[path]
		require.True(t, there, path)
		// A figure that is nothing but rounding, such as a sum that cancels, is
		// held against a nanometre.
		assert.InDelta(t, x, y, 1e-9*math.Max(1e-3, math.Abs(x)), path)
	}
}

// numbers lists every number of the JSON by its path.
func numbers(t *testing.T, f *figures.Figures) map[string]float64 {
	t.Helper()
	text, err := json.Marshal(f)
	require.NoError(t, err)
	var tree any
	require.NoError(t, json.Unmarshal(text, &tree))
	out := map[string]float64{}
	var walk func(path string, x any)
	walk = func(path string, x any) {
		switch v := x.(type) {
		case map[string]any:
			for k, y := range v {
				walk(path+"/"+k, y)
			}
		case []any:
			for i, y := range v {
				walk(path+"/"+string(rune('0'+i)), y)
			}
		case float64:
			out[path] = v
		case bool:
			out[path] = map[bool]float64{true: 1}[v]
		}
	}
	walk("", tree)
	return out
}
