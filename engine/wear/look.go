package wear

import "math"

// Why is why to look again before the trend is leant on.
type Why string

// The reasons. The last three are about all readings.
const (
	Misread   Why = "misread"           // it is rather misread than not
	Sudden    Why = "misread or sudden" // the newest one is off the line: misread, or the length changed suddenly
	TooFar    Why = "too far"           // it is too far off even for a misread one
	OneOf     Why = "one of them"       // one at least is rather misread, and it cannot be told which
	Scattered Why = "scattered"         // they scatter far more than they say: not one line
	Against   Why = "against"           // by them the part would have grown again
)

// Look is a reason to look again. Reading is its index in the question, -1 for all.
type Look struct {
	Reading int `json:"reading"`
	Why     Why `json:"why"`
}

// atOnce says whether the reason is none that only leaves one reading aside.
func (l Look) atOnce() bool { return l.Why != Misread && l.Why != TooFar }

// Limits of the reasons.
const (
	suddenFrom  = 0.2 // chance that the newest reading is misread
	farFrom     = 3   // standard deviations of a misread reading
	scatterFrom = 3   // times as much as the uncertainties say
)

func (t *Trend) look(points []point, order []int) {
	add := func(reading int, why Why) { t.Look = append(t.Look, Look{reading, why}) }
	off := t.fit.ways[0].off(points)
	single := false
	for n, i := range order {
		switch chance := t.Misread[i]; {
		case n == len(order)-1 && chance >= suddenFrom:
			add(i, Sudden)
			single = true
		case off[n] > farFrom*wider:
			add(i, TooFar)
			single = true
		case chance >= 0.5:
			add(i, Misread)
			single = true
		}
	}
	clean, scattered := 0.0, 0.0
	for _, w := range t.fit.ways {
		if w.misread == 0 {
			clean += w.chance
		}
		if w.scatter > scatterFrom {
			scattered += w.chance
		}
	}
	if clean < 0.5 && !single {
		add(-1, OneOf)
	}
	if scattered > 0.5 {
		add(-1, Scattered)
	}
	if t.Wears < t.fit.below {
		add(-1, Against)
	}
}

// off is how far each reading is off the line of a way, in the scatter of a good reading.
func (w way) off(points []point) []float64 {
	runs := sumsOf(points, w.misread)
	out := make([]float64, len(points))
	for i, p := range points {
		at, past := runs[p.run].means()
		out[i] = math.Abs(p.past-past-w.rate*(p.at-at)) / (p.u * w.scatter)
	}
	return out
}
