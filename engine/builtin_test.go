package engine

import (
	"testing"

	"github.com/stretchr/testify/require"

	"telltale/evidence"
	"telltale/rules"
)

// builtInCase reads a case against the built-in book.
func builtInCase(t testing.TB, text string) (*rules.Book, *evidence.Case) {
	t.Helper()
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	k, err := evidence.ParseCase("case.yaml", []byte(text), book.Vocabulary())
	require.NoError(t, err)
	return book, k
}

// answerTo is the whole way from a case's text to its report.
func answerTo(t testing.TB, text string) *Report {
	t.Helper()
	book, k := builtInCase(t, text)
	r, err := Diagnose(book, k)
	require.NoError(t, err)
	return r
}
