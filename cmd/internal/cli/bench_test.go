package cli

import (
	"bytes"
	"io"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
)

// BenchmarkTriage is the whole command in one process, the book loaded once.
func BenchmarkTriage(b *testing.B) {
	for _, name := range []string{"wiper-again", "two-faults", "tank-short", "duplex-valve"} {
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

// ordinary are cases as a contractor's office would send them: one to four
// signs of one pump, most of them at one cylinder.
var ordinary = []string{
	`{"pump":{"name":"A1","action":"triplex-single-acting","state":"running"},"findings":{"wiper-leaks":{"again":["2"],"absent":["1","3"]},"pistons-fail-often":{"2":"one-sided","absent":"others"},"knock":"absent"}}`,
	`{"pump":{"name":"A2","action":"duplex-double-acting","state":"running"},"findings":{"valve-slam":{"left":"present","absent":["right"]},"packing-leaks":"absent"}}`,
	`{"pump":{"name":"A3","action":"triplex-single-acting","state":"stopped"},"findings":{"rod-broken":{"3":"present","absent":["1","2"]}}}`,
	`{"pump":{"name":"A4","action":"triplex-single-acting","state":"running"},"findings":{"knock":"every-cylinder","knock-when-slower":"stops","pressure-low":"steady","mud-airy":"absent"}}`,
	`{"pump":{"name":"A5","action":"triplex-single-acting","state":"running"},"findings":{"wiper-leaks":{"again":["2"]}}}`,
	`{"pump":{"name":"A6","action":"triplex-single-acting","state":"running"},"findings":{"mud-in-wash":{"present":["3"],"absent":"others"},"hiss":{"1":"suction-stroke"},"pressure-low":"fell-slowly"}}`,
}

// BenchmarkMany sends a stream through triage --many, on as many cores as -cpu
// gives; cases/s/core is what counts.
func BenchmarkMany(b *testing.B) {
	const copies = 200
	stream := []byte(strings.Repeat(strings.Join(ordinary, "\n")+"\n", copies))
	for b.Loop() {
		var errors bytes.Buffer
		if code := Main([]string{"triage", "--many"}, bytes.NewReader(stream), io.Discard, &errors); code != 0 {
			b.Fatal("exit code ", code, ": ", errors.String())
		}
	}
	cases := float64(copies * len(ordinary) * b.N)
	b.ReportMetric(cases/b.Elapsed().Seconds()/float64(runtime.GOMAXPROCS(0)), "cases/s/core")
}
