package rules

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
)

// At a place a condition comes to what it comes to of a case that holds only what
// touches the place.
func TestAConditionAtAPlace(t *testing.T) {
	book, err := BuiltIn()
	require.NoError(t, err)
	for _, text := range []string{
		"pump: {action: triplex-single-acting, state: running}\n",
		"pump: {action: triplex-single-acting, state: running}\nfindings: {knock: every-cylinder, bearing-hot: absent, smoke: drive, wiper-leaks: {again: [2]}}\nrecent: [valves-changed]\n",
		"pump: {action: duplex-double-acting, state: stopped, rotation: reverse}\nfindings: {rod-broken: {left: present}, hiss: {left head: suction-stroke}, pressure-low: steady}\nconfirmed: [kick]\n",
	} {
		k, err := evidence.ParseCase("case.yaml", []byte(text), book.Vocabulary())
		require.NoError(t, err)
		tried := 0
		at := func(place evidence.Place, c *Condition) {
			tried++
			near := *k
			near.Findings = slices.DeleteFunc(slices.Clone(k.Findings), func(f evidence.Finding) bool { return !slices.ContainsFunc(f.Over, place.Touches) })
			near.Confirmed = slices.DeleteFunc(slices.Clone(k.Confirmed), func(at evidence.At) bool { return !at.Place.Touches(place) })
			assert.Equal(t, c.Holds(&near, book), c.HoldsAt(place, k, book), "%s at %s", c.Source, place)
		}
		for _, place := range append(k.Pump.Places(evidence.OfChamber), k.Pump.Places(evidence.OfCylinder)...) {
			for _, cause := range book.Causes.List {
				for _, rule := range cause.HasteWhen {
					at(place, rule.When)
				}
			}
			for _, stop := range book.Stops.List {
				at(place, stop.When)
			}
		}
		assert.Greater(t, tried, 50)
	}
}
