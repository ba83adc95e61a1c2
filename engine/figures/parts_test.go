package figures_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
)

// common practice, no source: a piston that lasts half as long at one cylinder,
// every time, is no luck; and pistons wear out.
func TestRecordOfParts(t *testing.T) {
	const record = `parts:
  piston: {from: 4000 h, to: 6200 h, changed-at: {1: [4000 h, 4520 h, 5150 h, 5700 h], 2: [4000 h, 4260 h, 4540 h, 4800 h, 5090 h, 5350 h, 5640 h, 5900 h], 3: [4000 h, 4610 h, 5140 h, 5790 h]}}
`
	p := work(t, triplex+record).Parts[0]
	assert.Equal(t, 13, p.Changes, "new parts at the start are no changes")
	assert.Equal(t, 2200.0, p.Hours)
	two := p.PerPlace[1]
	assert.Equal(t, 7, two.Changes)
	assert.Equal(t, 7, two.Failed)
	assert.InDelta(t, 260, two.Shortest, 1e-9)
	assert.InDelta(t, 290, two.Longest, 1e-9)
	assert.InDelta(t, 300, two.Running, 1e-9)
	assert.True(t, p.Worst.Shown)
	assert.Equal(t, []evidence.Place{{Cylinder: "2"}}, p.Worst.Places)
	require.NotNil(t, two.Short)
	assert.Greater(t, *two.Short, 0.95)
	assert.Less(t, *p.PerPlace[0].Short, 0.05)
	require.Len(t, p.Ends, 2, "the worst place and the others apart")
	for _, e := range p.Ends {
		assert.Equal(t, "parts-wear-out", e.Says)
		assert.Equal(t, []evidence.Place{{Cylinder: "2"}}, e.Places)
		require.NotNil(t, e.Median.High)
	}
	assert.InDelta(t, 275, p.Ends[0].Median.Value, 15)
	assert.InDelta(t, 580, p.Ends[1].Median.Value, 40)
	assert.EqualValues(t, "none shown", p.Trend.Says)
}

// Against an expected life each place is held by itself.
func TestRecordAgainstAnExpectedLife(t *testing.T) {
	p := work(t, triplex+"parts: {piston: {from: 0 h, to: 2000 h, expected-life: 700 h, changed-at: {1: [0 h, 210 h, 430 h, 640 h, 860 h, 1080 h, 1290 h, 1510 h, 1720 h, 1930 h], 2: [0 h, 690 h, 1420 h], 3: []}}}\n").Parts[0]
	require.NotNil(t, p.PerPlace[0].Short)
	assert.Greater(t, *p.PerPlace[0].Short, 0.98, "215 h a piece against 700")
	assert.Less(t, *p.PerPlace[1].Short, 0.2, "700 h a piece against 700")
	assert.Less(t, *p.PerPlace[2].Short, 0.2, "2000 h without a change")
}

// A part that was changed with its set, still good, is no failure.
func TestStillGoodIsNoFailure(t *testing.T) {
	all := work(t, triplex+"parts: {piston: {from: 0 h, to: 1000 h, changed-at: {1: [0 h, 300 h], 2: [0 h, 300 h], 3: [0 h, 300 h]}}}\n").Parts[0]
	one := work(t, triplex+"parts: {piston: {from: 0 h, to: 1000 h, changed-at: {1: [0 h, 300 h], 2: [0 h, 300 h], 3: [0 h, 300 h]}, still-good-at: {1: [300 h], 3: [300 h]}}}\n").Parts[0]
	assert.Equal(t, 3, all.Together)
	assert.Equal(t, 3, all.Ends[0].Failed)
	assert.Equal(t, 1, one.Ends[0].Failed)
	assert.Equal(t, 3, one.Changes)
}

// Every part of the book can have a record, with or without an expected life:
// an ordinary record never makes a case unusable.
func TestEveryPartCanHaveARecord(t *testing.T) {
	const duplex = "pump: {action: duplex-double-acting, state: stopped}\n"
	book := builtIn(t)
	for _, pump := range []string{triplex, duplex} {
		k := read(t, pump)
		for _, part := range book.Parts.List {
			if !part.When.HoldsForPump(&k.Pump) {
				continue
			}
			changed := "[100 h, 300 h, 500 h, 700 h, 800 h, 900 h, 950 h]"
			if places := k.Pump.Places(part.Level); len(places) > 1 {
				changed = "{" + places[1].String() + ": " + changed + ", " + places[0].String() + ": [450 h]}"
			}
			for _, expected := range []string{"", "expected-life: 700 h, "} {
				p := work(t, pump+"parts: {"+part.ID+": {from: 0 h, to: 1000 h, "+expected+"changed-at: "+changed+"}}\n").Parts
				require.Len(t, p, 1, part.ID)
			}
		}
	}
}

func TestARecordWithoutAChange(t *testing.T) {
	none := work(t, triplex+"parts: {piston: {from: 0 h, to: 500 h, changed-at: {}}}\n").Parts[0]
	assert.Zero(t, none.Changes)
	assert.Len(t, none.PerPlace, 3, "a place without a change counts too")
	assert.Equal(t, 500.0, none.PerPlace[0].Running)
	assert.Equal(t, "too-few-lives", none.Ends[0].Says)
	assert.False(t, none.Worst.Enough)
}
