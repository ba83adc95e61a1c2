package rules

import (
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
)

func overBuiltIn(text string) (*Book, error) {
	return LoadOver(fstest.MapFS{"a.yaml": {Data: []byte("rulebook: {name: rig, version: \"1\"}\n" + text)}}, "local")
}

func TestEveryMistakeOfARatingHasItsPlace(t *testing.T) {
	for name, c := range map[string]struct{ entry, want string }{
		"no figure":       {"{title: T, most: speed-most, basis: judgement}", `missing | own has no "of"`},
		"unknown figure":  {"{title: T, of: discharg, most: speed-most, basis: judgement}", `unknown-name | unknown figure of the pump "discharg"`},
		"no limit":        {"{title: T, of: speed, basis: judgement}", "missing | own needs one of most: and least:, a limit"},
		"two limits":      {"{title: T, of: speed, most: speed-most, least: speed-most, basis: judgement}", "missing | own needs one of most: and least:, a limit"},
		"unknown limit":   {"{title: T, of: speed, most: speed-mos, basis: judgement}", "unknown-name | did you mean speed-most?"},
		"other dimension": {"{title: T, of: speed, most: relief-setting, basis: judgement}", "does-not-fit | the limit relief-setting is a pressure; expected a stroke-rate"},
		"a setting":       {"{title: T, of: relief-setting, most: speed-most, basis: judgement}", "does-not-fit | the limit speed-most is a stroke-rate; expected a pressure"},
		"doubt":           {"{title: T, of: speed, most: speed-most, doubt: 2, basis: judgement}", "out-of-range | doubt"},
		"of a cylinder":   {"{title: T, of: speed, most: speed-most, shows: wiper-leaks, basis: judgement}", "does-not-fit | a rating is of the pump, but wiper-leaks belongs to a cylinder"},
		"no basis":        {"{title: T, of: speed, most: speed-most}", "missing | basis"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := overBuiltIn("ratings:\n  own: " + c.entry + "\n")
			require.Error(t, err, name)
			assert.Contains(t, err.Error(), "local/a.yaml:3:", name)
			mistaken(t, err, c.want)
		})
	}
	_, err := overBuiltIn("stops:\n  own: {signal: danger, by: at-once, title: T, when: past(\"liner\"), do: [Stop.], basis: judgement}\n")
	require.ErrorContains(t, err, `past does not know "liner"`)
	require.ErrorContains(t, err, "local/a.yaml:3:")
}

// A local book adds ratings and stops of its own; it does not touch those of the
// built-in book.
func TestALocalBookAddsRatingsOnly(t *testing.T) {
	for _, change := range []string{"doubt: 0.4", "most: line-rated-pressure", "when: action_is(\"duplex-double-acting\")", "title: Nothing", "shows: over-speed"} {
		_, err := overBuiltIn("ratings: {liner-pressure: {" + change + ", basis: judgement}}\n")
		key, _, _ := strings.Cut(change, ":")
		require.ErrorContains(t, err, "a local book cannot change \""+key+"\" of liner-pressure", change)
	}
	book, err := overBuiltIn("limits: {swivel-rated-pressure: {title: Rated pressure of the swivel, dimension: pressure, value: 350 bar, basis: judgement}}\n" +
		"ratings: {swivel-pressure: {title: Discharge pressure, of: discharge, most: swivel-rated-pressure, doubt: 0.01, basis: judgement}}\n" +
		"stops: {swivel-over: {signal: danger, by: at-once, title: T, when: past(\"swivel-pressure\") || past(\"line-pressure\"), do: [Stop.], stop-pump: true, basis: judgement}}\n")
	require.NoError(t, err)
	when := book.Stops.Get("swivel-over").When
	assert.Equal(t, []Name{{"ratings", "swivel-pressure"}, {"ratings", "line-pressure"}}, when.Names)
	assert.True(t, when.Findings, "it is not known of the pump alone")
	k := &evidence.Case{Past: []evidence.PastRating{{ID: "swivel-pressure"}}}
	assert.True(t, when.Holds(k, book))
	assert.False(t, when.Holds(&evidence.Case{}, book))
	assert.False(t, when.HoldsForPump(&k.Pump))
	assert.Equal(t, 35e6, book.LimitFor("swivel-rated-pressure", k).SI)
	assert.Nil(t, book.LimitFor("line-rated-pressure", k), "the maker's, blank")
}

// Each rating of the built-in book leads somewhere: a stop asks about it.
func TestEveryRatingHasAStop(t *testing.T) {
	book, err := BuiltIn()
	require.NoError(t, err)
	asked := map[string]bool{}
	for _, r := range book.Ratings.List {
		for _, s := range book.Stops.List {
			asked[r.ID] = asked[r.ID] || s.When.AsksRating(r.ID)
		}
		assert.True(t, asked[r.ID], r.ID)
		assert.Nil(t, book.Limits.Get(r.Limit).Value, "the figure of %s is the maker's or the site's", r.Limit)
	}
}
