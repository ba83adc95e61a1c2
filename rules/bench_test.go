package rules

import "testing"

// BenchmarkLoad reads, checks and compiles the built-in book's YAML.
func BenchmarkLoad(b *testing.B) {
	files := BuiltInFiles()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Load(files, BuiltInDir); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkBuiltIn is what a run of the program pays for the built-in book:
// the digest of the YAML files and the snapshot.
func BenchmarkBuiltIn(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := builtInBook(); err != nil {
			b.Fatal(err)
		}
	}
}
