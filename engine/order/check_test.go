package order

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestBestOnNothing(t *testing.T) {
	got, proof, err := Best(&Problem{}, nil, nil, Options{})
	require.NoError(t, err)
	assert.Empty(t, got)
	assert.Equal(t, Proof{Exact: true}, proof)
}

func TestBestRejectsWhatIsWrong(t *testing.T) {
	step := func(s Step) *Problem { return &Problem{Steps: []Step{s}, Weight: []float64{1}} }
	for name, p := range map[string]*Problem{
		"minutes below nothing": step(Step{Minutes: -1}),
		"no minutes":            step(Step{Minutes: math.NaN()}),
		"minutes for ever":      step(Step{Minutes: math.Inf(1)}),
		"no such cause":         step(Step{Finds: []Find{{1, 1}}}),
		"surer than sure":       step(Step{Finds: []Find{{0, 1.1}}}),
		"no chance":             step(Step{Finds: []Find{{0, math.NaN()}}}),
		"no such step":          step(Step{Before: []int{1}}),
		"waits for itself":      step(Step{Before: []int{0}}),
		"a circle":              {Steps: []Step{{Before: []int{1}}, {Before: []int{0}}}},
		"no weight":             {Weight: []float64{math.NaN()}},
		"weight below nothing":  {Weight: []float64{-1}},
		"too large":             {Weight: []float64{1e200}, Steps: []Step{{Minutes: 1e200}}},
	} {
		_, _, err := Best(p, nil, all(len(p.Steps)), Options{})
		assert.Error(t, err, name)
	}
	good := step(Step{Minutes: 1})
	_, _, err := Best(good, []int{1}, all(1), Options{})
	require.Error(t, err)
	_, _, err = Best(good, nil, nil, Options{})
	require.Error(t, err)
	_, _, err = Best(good, nil, all(1), Options{Least: math.NaN()})
	require.Error(t, err)
}
