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
