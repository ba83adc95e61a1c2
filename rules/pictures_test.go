package rules

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Each picture stands at something of the built-in book, and what is done by
// hand in the same way shows the same one.
func TestEveryPictureStandsSomewhere(t *testing.T) {
	b, err := BuiltIn()
	require.NoError(t, err)
	at := map[Picture][]string{}
	for _, c := range b.Checks.List {
		at[c.Picture] = append(at[c.Picture], c.ID)
	}
	for _, a := range b.Openings.List {
		at[a.Picture] = append(at[a.Picture], a.ID)
		at[a.Close.Picture] = append(at[a.Close.Picture], "close "+a.ID)
	}
	for _, r := range b.Returns.List {
		at[r.Picture] = append(at[r.Picture], "return "+r.ID)
	}
	for _, p := range b.Procedures.List {
		for _, s := range p.Steps {
			at[s.Picture] = append(at[s.Picture], s.Title)
		}
	}
	delete(at, "")
	assert.Len(t, at, len(Pictures()))
	for _, p := range Pictures() {
		assert.NotEmpty(t, at[p], p)
	}
	assert.Subset(t, at[LockingWire], []string{"close locking-wire-out", "return locking-wire", "Wire"})
	assert.Subset(t, at[RoundRod], []string{"rod-centring", "return rod-centred"})
	assert.Subset(t, at[PackingOrder], []string{"packing-look", "close box-open"})
	assert.Subset(t, at[ValvePot], []string{"valve-look", "seat-look", "valve-pot-open"})
}

// A picture that is not there is told with its place and what is nearest.
func TestAPictureThatIsNotThereIsTold(t *testing.T) {
	for _, text := range []string{
		"return: {box-shut: {title: Shut, do: Shut it., minutes: 1, picture: valve-pott, basis: judgement}}\n",
		"openings: {tray-out: {title: Tray, of: pump, minutes: 1, do: Out., close: {title: In, minutes: 1, do: In., picture: valve-pott}, basis: judgement}}\n",
		"openings: {tray-out: {title: Tray, of: pump, minutes: 1, do: Out., picture: valve-pott, close: {title: In, minutes: 1, do: In.}, basis: judgement}}\n",
	} {
		_, err := over(text)
		require.ErrorContains(t, err, `unknown picture "valve-pott"`)
		assert.ErrorContains(t, err, "did you mean valve-pot?")
		assert.ErrorContains(t, err, "local/local.yaml:2:")
	}
}
