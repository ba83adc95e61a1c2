package cli

import (
	"io"
	"path/filepath"
	"strings"
	"testing"
)

// BenchmarkTriage is the whole command in one process, the book loaded once.
func BenchmarkTriage(b *testing.B) {
	for _, name := range []string{"wiper-again", "two-faults", "duplex-valve"} {
		b.Run("case="+name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if code := Main([]string{"triage", filepath.Join(root, "cases", name+".yaml")}, strings.NewReader(""), io.Discard, io.Discard); code != 0 {
					b.Fatal("exit code ", code)
				}
			}
		})
	}
}
