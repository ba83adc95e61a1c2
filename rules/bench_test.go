package rules

import (
	"io/fs"
	"testing"
)

// BenchmarkLoad reads, checks and compiles the built-in book.
func BenchmarkLoad(b *testing.B) {
	files, err := fs.Sub(builtIn, "book")
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Load(files, "rules/book"); err != nil {
			b.Fatal(err)
		}
	}
}
