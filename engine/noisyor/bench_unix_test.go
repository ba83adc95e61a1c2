//go:build unix

package noisyor

import (
	"errors"
	"fmt"
	"slices"
	"syscall"
	"testing"
	"time"
)

// BenchmarkWithin is all causes of a pump within what one answer may take: the median of
// the processor time until they are there, or until more is refused.
func BenchmarkWithin(b *testing.B) {
	used := func() time.Duration {
		var u syscall.Rusage
		if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
			b.Fatal(err)
		}
		return time.Duration(u.Utime.Nano() + u.Stime.Nano())
	}
	for _, present := range []int{4, 8, 12, 16, 20} {
		b.Run(fmt.Sprintf("positives=%d", present), func(b *testing.B) {
			p, refused := pumpLike(1, present, 6), 0.0
			var took []time.Duration
			for b.Loop() {
				before := used()
				if tooMuch(b, p) {
					refused = 1
				}
				took = append(took, used()-before)
			}
			slices.Sort(took)
			b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "median-cpu-ms")
			b.ReportMetric(refused, "refused")
		})
	}
}

// tooMuch solves p and says whether it was refused.
func tooMuch(b *testing.B, p *Problem) bool {
	s := Solver{Budget: &Budget{Most: 1_200_000_000}} // chances.MostWork
	_, err := s.Solve(p)
	var wide *TooWideError
	if err != nil && !errors.As(err, &wide) {
		b.Fatal(err)
	}
	return err != nil
}
