package pumping

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestHydraulicPower(t *testing.T) {
	for _, c := range []struct {
		name           string
		psi, gpm, want float64
		within         float64
	}{
		// A formula sheet divides psi gpm by 1714, read second hand; exact
		// 33000x12/231 = 1714.2857.
		{"sheet", 3500, 800, 1633.6, 2e-4},
		{"exact", 3500, 800, 3500 * 800 / (33000 * 12 / 231.0), 1e-9},
		{"IADC drilling glossary divides by 1715, read second hand", 3500, 800, 1632.65, 5e-4},
		{"read second hand, no better source", 1500, 20, 17.5, 1e-3},
		{"Lapeyrouse, from memory", 2950, 520, 895, 1e-3},
	} {
		w, err := HydraulicPower(c.psi*psi, c.gpm*gpm)
		require.NoError(t, err)
		near(t, c.want, w/hp, c.within, c.name)
	}
	// Guo & Liu (2011), read second hand: input hp = p d^2 l N/(168067 em) for
	// a triplex, p (2 d1^2 - d2^2) l N/(252101 em) for a duplex.
	for _, c := range []struct {
		pump   Pump
		square float64 // of inches
		stroke float64
		by     float64
	}{
		{triplex(t, 6, 12), 36, 12, 168067},
		{duplex(t, 6.5, 18, 2.5), 2*42.25 - 6.25, 18, 252101},
	} {
		q, err := c.pump.Flow(70 * spm)
		require.NoError(t, err)
		hydraulic, err := HydraulicPower(3000*psi, q)
		require.NoError(t, err)
		in, err := InputPower(hydraulic, 0.85)
		require.NoError(t, err)
		near(t, 3000*c.square*c.stroke*70/(c.by*0.85), in/hp, 1e-4)
	}
}

// Rod loads and liner ratings, recomputed by hand: pressure times area.
func TestRodLoad(t *testing.T) {
	push, pull, err := triplex(t, 6.5, 12).RodLoad(Pressures{Discharge: 3000 * psi})
	require.NoError(t, err)
	near(t, 99549, push/pound, 1e-5)
	assert.Zero(t, pull)

	p := duplex(t, 6.5, 18, 2.5)
	push, pull, err = p.RodLoad(Pressures{Discharge: 1500 * psi})
	require.NoError(t, err)
	near(t, 49775, push/pound, 2e-5)
	near(t, 42412, pull/pound, 2e-5)

	// A charged suction helps the crank along: by the other side's area.
	push, pull, err = p.RodLoad(Pressures{Discharge: 1500 * psi, Suction: 100 * psi})
	require.NoError(t, err)
	near(t, 49775-42412/15.0, push/pound, 2e-5)
	near(t, 42412-49775/15.0, pull/pound, 2e-5)
	// The same pressure on both sides leaves the rod's own area.
	push, pull, err = p.RodLoad(Pressures{Discharge: 1000 * psi, Suction: 1000 * psi})
	require.NoError(t, err)
	near(t, math.Pi/4*2.5*2.5*1000, push/pound, 1e-9)
	near(t, -push, pull, 1e-9)
	_, pull, err = triplex(t, 6.5, 12).RodLoad(Pressures{Discharge: 3000 * psi, Suction: 30 * psi})
	require.NoError(t, err)
	near(t, -995.49, pull/pound, 1e-5)
}

// One rod load on several liners, recomputed by hand: that of 6.5 in at
// 3000 psi.
func TestLinerRatings(t *testing.T) {
	rating := 99549 * pound
	for liner, want := range map[float64]float64{5: 5070, 5.5: 4190, 6: 3521, 6.5: 3000, 7: 2587} {
		p, err := triplex(t, liner, 12).PressureAtRodLoad(rating)
		require.NoError(t, err)
		near(t, want, p/psi, 2e-4)
		bore, err := LargestLiner(rating, p)
		require.NoError(t, err)
		near(t, liner, bore/inch, 1e-12)
	}
	// In a duplex the push governs.
	p, err := duplex(t, 6.5, 18, 2.5).PressureAtRodLoad(49775 * pound)
	require.NoError(t, err)
	near(t, 1500, p/psi, 2e-5)
}
