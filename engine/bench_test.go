package engine

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"telltale/engine/noisyor"
	"telltale/evidence"
	"telltale/rules"
)

// BenchmarkDiagnose is the whole way from a parsed case to its Report, for
// each demo case.
func BenchmarkDiagnose(b *testing.B) {
	book, err := rules.BuiltIn()
	if err != nil {
		b.Fatal(err)
	}
	files, err := filepath.Glob("../testdata/cases/*.yaml")
	if err != nil || len(files) == 0 {
		b.Fatal("no demo cases: ", err)
	}
	words := book.Vocabulary()
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			b.Fatal(err)
		}
		k, err := evidence.ParseCase(file, text, words)
		if err != nil {
			b.Fatal(err)
		}
		b.Run("case="+strings.TrimSuffix(filepath.Base(file), ".yaml"), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Diagnose(book, k); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkParseCase reads the richest demo case.
func BenchmarkParseCase(b *testing.B) {
	book, err := rules.BuiltIn()
	if err != nil {
		b.Fatal(err)
	}
	text, err := os.ReadFile("../testdata/cases/opened-up.yaml")
	if err != nil {
		b.Fatal(err)
	}
	words := book.Vocabulary()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := evidence.ParseCase("opened-up.yaml", text, words); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkParts times what an answer is made of, for the richest of the
// ordinary demo cases: the chances with their reasons, how firm they are, what
// is worth asking, and the list of steps.
func BenchmarkParts(b *testing.B) {
	book, err := rules.BuiltIn()
	if err != nil {
		b.Fatal(err)
	}
	text, err := os.ReadFile("../testdata/cases/two-faults.yaml")
	if err != nil {
		b.Fatal(err)
	}
	k, err := evidence.ParseCase("two-faults.yaml", text, book.Vocabulary())
	if err != nil {
		b.Fatal(err)
	}
	var s noisyor.Solver
	m := newModel(book, k)
	w, err := m.weigh(&s)
	if err != nil {
		b.Fatal(err)
	}
	m.gatherAll()
	asked, err := m.questions(&s, w, true, true)
	if err != nil {
		b.Fatal(err)
	}
	parts := map[string]func() error{
		"model":     func() error { newModel(book, k); return nil },
		"chances":   func() error { _, err := m.weigh(&s); return err },
		"firmness":  func() error { _, _, err := m.firmness(&s, w, nil); return err },
		"questions": func() error { _, err := m.questions(&s, w, true, true); return err },
		"haste":     func() error { _, err := m.haste(&s, w, nil, asked); return err },
		"steps":     func() error { return m.list(&s, w, nil, m.header(nil)) },
	}
	for _, name := range []string{"model", "chances", "firmness", "questions", "haste", "steps"} {
		b.Run("part="+name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if err := parts[name](); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
