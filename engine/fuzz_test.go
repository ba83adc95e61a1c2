package engine

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"telltale/evidence"
	"telltale/evidence/source"
)

// FuzzDiagnose weighs whatever can be read as a case of the built-in book: an
// answer that keeps the laws, or an error of a known kind with nothing but stop
// conditions beside it; and the same with the findings turned round.
func FuzzDiagnose(f *testing.F) {
	files, err := filepath.Glob("../testdata/cases/*.yaml")
	require.NoError(f, err)
	for _, file := range files {
		text, err := os.ReadFile(file)
		require.NoError(f, err)
		f.Add(text)
	}
	f.Add([]byte("pump: {action: duplex-double-acting, state: isolated}\nfindings: {hiss: {left: present, absent: [left crank]}}\nconfirmed: [suction-valve-cut: right head]\nchecked: {valve-look: nothing}\n"))
	f.Add([]byte("pump: {action: triplex-single-acting, state: running}\nrecent: [valves-changed: {at: 2, cured: no}, mud-changed: {cured: yes}, wipers-changed: {done: after-trouble}]\nfindings: {hiss: {2: discharge-stroke}}\nconfirmed: [piston-worn: 2]\n"))
	f.Add([]byte("pump: {action: triplex-single-acting, state: running}\nmeasured: {before-and-now: {before: {discharge: 2800 psi, speed: 95 strokes/min, load: 410}, now: {discharge: 2400 psi, speed: 94 strokes/min, load: 409}}}\n"))
	book := builtIn(f)
	words := book.Vocabulary()
	f.Fuzz(func(t *testing.T, text []byte) {
		k, err := evidence.ParseCase("f.yaml", text, words)
		if err != nil {
			return
		}
		r, err := Diagnose(book, k)
		var input *source.InputError
		if err != nil {
			require.True(t, cannotBe(err) || errors.As(err, &input), "%v", err)
			require.Empty(t, r.Causes, "half an answer")
			require.Empty(t, r.Steps, "half an answer")
			return
		}
		if !r.LeavePump {
			lawsOfChances(t, r)
		}
		turned := *k
		turned.Findings = slices.Clone(k.Findings)
		slices.Reverse(turned.Findings)
		again, err := Diagnose(book, &turned)
		require.NoError(t, err)
		alike(t, "report", asJSON(t, r), asJSON(t, again))
	})
}
