package figures_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine/figures"
)

// constants lists the values of the text constants of a type in the files of
// engine/align, so that a new one cannot be forgotten.
func constants(t *testing.T, files []string, ofType string) []string {
	t.Helper()
	var out []string
	for _, file := range files {
		parsed, err := parser.ParseFile(token.NewFileSet(), "../align/"+file, nil, 0)
		require.NoError(t, err)
		ast.Inspect(parsed, func(n ast.Node) bool {
			spec, ok := n.(*ast.ValueSpec)
			if !ok {
				return true
			}
			if name, ok := spec.Type.(*ast.Ident); !ok || name.Name != ofType {
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
	outcomes := constants(t, []string{"notes.go", "centring.go"}, "Outcome")
	reasons := constants(t, []string{"notes.go", "centring.go"}, "Reason")
	require.GreaterOrEqual(t, len(outcomes), 6)
	require.GreaterOrEqual(t, len(reasons), 30)
	advice := builtIn(t).Advice
	known := map[string]bool{}
	for _, code := range append(append(outcomes, reasons...), figures.Advices()...) {
		id := strings.ReplaceAll(code, " ", "-")
		known[id] = true
		assert.NotNil(t, advice.Get(id), "no advice %q", id)
	}
	for _, outcome := range append(outcomes, figures.Advices()...) {
		if a := advice.Get(strings.ReplaceAll(outcome, " ", "-")); a != nil {
			assert.NotEmpty(t, a.Do, "%s says nothing to do", a.ID)
		}
	}
	for _, a := range advice.List {
		assert.True(t, known[a.ID], "the advice %s is never given", a.ID)
	}
}
