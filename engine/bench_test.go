package engine

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

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
