package rules

import (
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"
)

// What is overdue cannot be made to vanish by a local book, nor work be asked for
// beside moving parts.
func TestALocalBookPutsOffNoUpkeep(t *testing.T) {
	for text, want := range map[string]string{
		`due: {ahead: 0.001 h, basis: judgement}`:                      `cannot change "ahead" of due`,
		`due: {part-share: 0.5, basis: judgement}`:                     `cannot change "part-share" of due`,
		`upkeep: {rod-joint-again: {after: 9000 h, basis: judgement}}`: `cannot change "after" of rod-joint-again`,
		`upkeep: {rod-joint-again: {pump: running, basis: judgement}}`: `cannot change "pump" of rod-joint-again`,
		`upkeep: {hot: {title: T, do: D, of: cylinder, changed: [piston], after: 1 h, pump: running, openings: [cylinder-open], minutes: 5, basis: judgement}}`: `it needs pump: isolated; read running`,
	} {
		_, err := LoadOver(fstest.MapFS{"l.yaml": {Data: []byte("rulebook: {name: stranger, version: \"1\"}\n" + text)}}, "local")
		require.ErrorContains(t, err, want, text)
	}
}
