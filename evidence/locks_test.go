package evidence_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
)

const isolatedPump = "pump: {action: triplex-single-acting, state: isolated}\n"

func TestLocksAreRead(t *testing.T) {
	k, err := evidence.ParseCase("case.yaml", []byte(isolatedPump+`locks:
  - {on: drive, by: A. Hand, at: 06:10, tag: 14, key: lock box}
  - {on: drive, by: A. Hand, off-by: B. Mate, off-at: 12:00}
stays-open:
  - {what: discharge bleed, by: A. Hand}
  - {what: suction bleed, shut-by: B. Mate}
`), evidence.Vocabulary{})
	require.NoError(t, err)
	require.Len(t, k.Locks, 2)
	assert.True(t, k.Locks[0].Hangs())
	assert.Equal(t, "06:10", k.Locks[0].At)
	assert.Equal(t, "14", k.Locks[0].Tag)
	assert.False(t, k.Locks[1].Hangs())
	assert.True(t, k.Locks[0].Is("DRIVE", "a. hand"))
	assert.True(t, k.StaysOpen[0].Open())
	assert.False(t, k.StaysOpen[1].Open())
}

func TestMistakesInLocks(t *testing.T) {
	for text, want := range map[string]string{
		"locks: drive":                                    `case.yaml:2:8: locks must be a list of lines like "- {on: drive`,
		"locks: [{on: drive}]":                            `case.yaml:2:9: a lock has no "by"`,
		"locks: [{on: drive, by: ''}]":                    `by is empty`,
		"locks: [{on: drive, by: A, of-by: B}]":           `"of-by"`,
		"locks: [{on: drive, by: A, off-at: noon}]":       `who took it off? write off-by:`,
		"locks: [{on: drive, by: A}, {on: Drive, by: a}]": `case.yaml:2:29: the lock of "a" on "Drive" hangs already at line 2`,
		"locks: [{on: [a], by: A}]":                       `case.yaml:2:14: on`,
		"stays-open: [{by: A}]":                           `a line of stays-open has no "what"`,
		"stays-open: [{what: bleed, shut-at: noon}]":      `who shut it? write shut-by:`,
		"stays-open: {what: bleed}":                       `stays-open must be a list of lines like "- {what: discharge bleed`,
	} {
		t.Run(text, func(t *testing.T) {
			_, err := evidence.ParseCase("case.yaml", []byte(isolatedPump+text+"\n"), evidence.Vocabulary{})
			assert.ErrorContains(t, err, want, text)
		})
	}
}
