package figures_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"go/types"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// constants lists the values of the text constants of a type in a folder, so
// that a new one cannot be forgotten.
func constants(t *testing.T, folder, ofType string) []string {
	t.Helper()
	var out []string
	files, err := filepath.Glob(folder + "/*.go")
	require.NoError(t, err)
	for _, file := range files {
		parsed, err := parser.ParseFile(token.NewFileSet(), file, nil, 0)
		require.NoError(t, err)
		ast.Inspect(parsed, func(n ast.Node) bool {
			spec, ok := n.(*ast.ValueSpec)
			if !ok || spec.Type == nil || types.ExprString(spec.Type) != ofType {
				return true
			}
			for _, v := range spec.Values {
				literal, ok := v.(*ast.BasicLit)
				require.True(t, ok, "%s in %s is no plain text", ofType, file)
				text, err := strconv.Unquote(literal.Value)
				require.NoError(t, err)
				out = append(out, text)
			}
			return true
		})
	}
	return out
}

// The built-in book has words for everything that can come out.
func TestTheBookHasWordsForEveryOutcomeAndReason(t *testing.T) {
	outcomes := append(constants(t, "../align", "Outcome"), constants(t, ".", "align.Outcome")...)
	reasons, own := constants(t, "../align", "Reason"), constants(t, ".", "advice")
	require.GreaterOrEqual(t, len(outcomes), 16)
	require.GreaterOrEqual(t, len(reasons), 30)
	require.GreaterOrEqual(t, len(own), 9)
	list := builtIn(t).Advice
	known := map[string]bool{}
	for _, id := range append(append(outcomes, reasons...), own...) {
		known[id] = true
		assert.NotNil(t, list.Get(id), "no advice %q", id)
	}
	for _, id := range append(outcomes, own...) {
		if a := list.Get(id); a != nil {
			assert.NotEmpty(t, a.Do, "%s says nothing to do", a.ID)
		}
	}
	for _, a := range list.List {
		assert.True(t, known[a.ID], "the advice %s is never given", a.ID)
	}
	for id, again := range map[string]bool{"withheld": true, "measure-upper-first": true, "doubt-now": true, "doubt-after": true, "equal-shims": false, "none-needed": false, "tight-now": false} {
		t.Run(id, func(t *testing.T) {
			assert.Equal(t, again, list.Get(id).MeasureAgain, id)
		})
	}
}
