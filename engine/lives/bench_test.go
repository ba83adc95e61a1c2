package lives

import "testing"

func BenchmarkWorstOfThree(b *testing.B) {
	for b.Loop() {
		_, _ = WorstOf([]Count{{9, 1000}, {3, 1000}, {2, 900}}, 0.95)
	}
}

func BenchmarkWorstOfTwelveAtTheLimit(b *testing.B) {
	cells := make([]Count, 12)
	for i := range cells {
		cells[i] = Count{83, 1000 + float64(i)}
	}
	for b.Loop() {
		_, _ = WorstOf(cells, 0.95)
	}
}

func BenchmarkTrend(b *testing.B) {
	for b.Loop() {
		_, _ = TrendOf(nistTimes, 1500, ByClock, 0.8)
	}
}
