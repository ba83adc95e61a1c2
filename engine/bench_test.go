package engine

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"telltale/engine/chances"
	"telltale/engine/work"
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
	m := chances.New(book, k)
	w, err := m.Weigh()
	if err != nil {
		b.Fatal(err)
	}
	asked, err := w.Beside().Questions()
	if err != nil {
		b.Fatal(err)
	}
	parts := map[string]func() error{
		"model":     func() error { chances.New(book, k); return nil },
		"chances":   func() error { _, err := m.Weigh(); return err },
		"firmness":  func() error { _, _, err := w.Firmness(); return err },
		"questions": func() error { _, err := w.Questions(); return err },
		"haste":     func() error { _, err := w.Haste(asked); return err },
		"steps":     func() error { _, err := work.Plan(w); return err },
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
