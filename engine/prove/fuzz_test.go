package prove

import (
	"errors"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"telltale/evidence/source"
	"telltale/rules"
)

// FuzzProofs reads whatever comes as proving cases: a suite that can be run, or
// every mistake with its place.
func FuzzProofs(f *testing.F) {
	for _, seed := range []string{
		"facts: {a-fact: {title: A, basis: judgement}}\nproofs:\n  a-proof: {title: A, basis: judgement, facts: [a-fact], case: {pump: {action: triplex-single-acting, state: running}, findings: {knock: every-cylinder}}, expect: [{first: piston-worn}]}\n",
		"proofs: {a: {title: x, basis: judgement, case: {}, expect: [{within: {piston-worn: 3}}]}}\n", "proofs: [x]\n", "facts: 1\n",
		"proofs: {a: {title: x, basis: judgement, case: {pump: {action: triplex-single-acting, state: running}, findings: {wiper-leaks: {again: [2]}}}, expect: {failed: {piston-worn: 2}, brought-on-by: nothing, root-within: [{cause: sandy-mud, of: {piston-worn: 2}, places: 2}], root-chance: [{cause: sandy-mud, of: {piston-worn: 2}, from: 0, to: 1}], by-itself: [{cause: piston-worn, at: 2, from: 0, to: 1}], troubles: 1}}}\n",
	} {
		f.Add([]byte(seed))
	}
	book, err := rules.BuiltIn()
	require.NoError(f, err)
	f.Fuzz(func(t *testing.T, text []byte) {
		suite, err := Load(book, Dir{Files: fstest.MapFS{"proofs/a.yaml": {Data: text}}, Name: "local"})
		if (suite == nil) != (err != nil) {
			t.Fatal("half a suite")
		}
		var input *source.InputError
		if err != nil && !errors.As(err, &input) {
			t.Fatalf("unexpected error %v", err)
		}
		if err != nil {
			for _, p := range input.Problems {
				require.Contains(t, source.Codes(), p.Code, "%v", p)
			}
		}
		if suite != nil {
			Run(book, suite)
		}
	})
}
