package figures_test

import (
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"testing"

	"telltale/engine/figures"
	"telltale/evidence"
	"telltale/evidence/source"
	"telltale/rules"
)

// A case that is read is worked out, or the person learns where it goes wrong;
// what comes out is numbers, and chances are chances.
func FuzzWork(f *testing.F) {
	files, err := filepath.Glob("../../testdata/cases/*.yaml")
	if err != nil || len(files) == 0 {
		f.Fatal("no cases to begin with", err)
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(text))
	}
	f.Add(rodCase(ready + sloped + secondPlane))
	f.Add(triplex + "parts: {piston: {from: 0 h, to: 500 h, changed-at: {}}}\n")
	f.Add("pump: {action: duplex-double-acting, state: running, liner: 1000000 m, stroke: 18 in, piston-rod: 0.0001 in, speed: 1 spm}\n")
	f.Add(gaugedCase("discharge: 2800 psi, speed: 95 strokes/min, charge-pressure: 60 psi, load: 410", "discharge: 0 psi, speed: 70 strokes/min, load: 0",
		", drive-setting: same, mud: water-through-jet, two-rates: {slow: {speed: 89.9 strokes/min, discharge: 700 psi}, fast: {speed: 90 strokes/min, discharge: 2800 psi}}"))
	book, err := rules.BuiltIn()
	if err != nil {
		f.Fatal(err)
	}
	words := book.Vocabulary()
	f.Fuzz(func(t *testing.T, text string) {
		k, err := evidence.ParseCase("case.yaml", []byte(text), words)
		if err != nil {
			return
		}
		out, err := figures.Work(book, k)
		if err != nil {
			var input *source.InputError
			if !errors.As(err, &input) || input.Problems[0].Pos.Line < 1 {
				t.Fatalf("an error without a place: %v", err)
			}
			return
		}
		if _, err := json.Marshal(out); err != nil {
			t.Fatal(err) // NaN or an infinity
		}
		for _, v := range out.Values {
			low, high := 1e-4, 2e-4
			for _, p := range []float64{v.Chance(&low, nil), v.Chance(nil, &low), v.Chance(&low, &high)} {
				if !(p >= 0 && p <= 1+1e-12) {
					t.Fatalf("a chance of %g for %s", p, v.ID)
				}
			}
		}
	})
}
