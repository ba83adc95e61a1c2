package dialogue

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine/hear"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/rules"
)

// What is told of one of several places says nothing of the others: present is
// somewhere, anything else stands in the log alone.
func TestToldAtOneOfSeveralPlaces(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	text := []byte("pump: {action: triplex-single-acting, state: running}\nfindings: {wiper-leaks: {again: [3]}}\n")
	k, err := record.Read("case.yaml", text, book.Vocabulary())
	require.NoError(t, err)
	for answer, holds := range map[string]string{
		string(evidence.Absent):  "findings: {wiper-leaks: {again: [3]}}\n",
		evidence.Unknown:         "findings: {wiper-leaks: {again: [3]}}\n",
		string(evidence.Present): "present: [somewhere]",
	} {
		h := hear.Heard{Words: "one or two", Is: hear.IsSign, ID: "wiper-leaks", Answer: answer, Places: k.Pump.Places(evidence.OfCylinder)[:2], OneOf: true}
		edits := Told(book, k, Tale{Text: "one or two", Agreed: []hear.Heard{h}}, func(did string) record.Edit { return record.AddLog(evidence.LogEntry{Did: did}) })
		got, _, err := record.Apply("case.yaml", text, book.Vocabulary(), edits...)
		require.NoError(t, err)
		assert.Contains(t, string(got), holds, answer)
		assert.Contains(t, string(got), "told: at one of several places: one or two")
	}
}
