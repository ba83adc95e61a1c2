package lives

import (
	"encoding/binary"
	"math"
	"testing"
)

// FuzzFit reads two bytes for each life: whatever they are, and whatever is asked, there is
// an error or figures inside their limits.
func FuzzFit(f *testing.F) {
	f.Add([]byte{1, 200, 1, 210, 1, 230, 1, 255, 2, 4, 0, 90}, 0.95, 100.0, 50.0, 5.0)
	f.Add([]byte{3, 1, 3, 1, 3, 2}, 0.999999, 0.0, 1e8, 1000.0)
	f.Add([]byte{}, 0.5, math.NaN(), math.Inf(1), 1.0)
	f.Fuzz(func(t *testing.T, data []byte, confidence, age, hours, ratio float64) {
		var all []Life
		for ; len(data) >= 2 && len(all) < 60; data = data[2:] {
			n := binary.BigEndian.Uint16(data)
			all = append(all, Life{Hours: math.Exp(float64(n>>2) / 900), End: End(n & 3)})
		}
		w, err := Fit(all, confidence)
		if (err == nil) != (checkConfidence(confidence) == nil) {
			t.Fatal(err, confidence)
		}
		if w == nil {
			return
		}
		check := func(what string, e Estimate) {
			if !(e.Low <= e.Value) || e.High != nil && !(e.Value <= *e.High) || math.IsInf(e.Value, 0) {
				t.Fatalf("%s %+v", what, e)
			}
		}
		check("shape", w.Shape)
		check("median", w.Median)
		check("tenth", w.Tenth)
		if p, err := w.Failing(age, hours); err == nil {
			check("failing", p)
		}
		c, err := w.ChangeAt(ratio)
		if (err == nil) != (ratio > 1 && ratio <= mostCostRatio) {
			t.Fatal(ratio, err)
		}
		if (c.Says == ChangeAtAge) != (c.Age != nil && c.Saves != nil) {
			t.Fatalf("%+v", c)
		}
		if c.Age != nil {
			check("age", *c.Age)
			check("saves", *c.Saves)
		}
	})
}

// FuzzGroups reads four bytes for each change, its place and its hour.
func FuzzGroups(f *testing.F) {
	f.Add([]byte{0, 0, 1, 0, 1, 0, 1, 90, 1, 0, 2, 0, 2, 1, 2, 0}, 0.95)
	f.Fuzz(func(t *testing.T, data []byte, confidence float64) {
		r := Record{Places: make([]Place, 3)}
		for i := range r.Places {
			r.Places[i].To = 1000
		}
		for n := 0; len(data) >= 4 && n < 40; data, n = data[4:], n+1 {
			p := &r.Places[data[0]%3]
			at := float64(binary.BigEndian.Uint16(data[2:])) / 60
			if p.Changed = append(p.Changed, at); data[1] == 1 {
				p.Good = append(p.Good, at)
			}
		}
		groups, _, err := Groups(r, confidence)
		places := 0
		for _, g := range groups {
			places += len(g.Places)
		}
		if (err == nil) != (places == 3) {
			t.Fatalf("%v: %+v", err, groups)
		}
	})
}
