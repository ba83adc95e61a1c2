package drawing

import (
	"fmt"
	"math"

	"telltale/cmd/internal/doc"
)

// Wear is how a length wears over the hours of a pump, and when it reaches its
// limit. Lengths are in the unit that Unit names.
type Wear struct {
	Name     string
	Title    string
	Unit     string // "thou", "mm"
	Readings []WearReading
	Band     []WearPoint // of the line of now, on into the hours to come
	Limit    float64
	LimitIs  string // the limit as the page says it
	Now      float64
	Says     []string
}

// WearReading is one reading with its standard uncertainty.
type WearReading struct {
	Hours, Value, U float64
	Run             int  // changes where it was set back
	Misread         bool // rather misread than not
}

// WearPoint is the line of now at one hour, with its limits.
type WearPoint struct{ Hours, Low, Middle, High float64 }

// The frame of the chart.
const (
	wearLeft   = 64.0
	wearRight  = 660.0
	wearTop    = 26.0
	wearHeight = 190.0
	wearMark   = 3.5 // radius of a reading
)

// wearScale maps hours and lengths to the frame.
type wearScale struct{ fromHours, toHours, low, high float64 }

func (s wearScale) x(hours float64) float64 {
	return wearLeft + (hours-s.fromHours)/(s.toHours-s.fromHours)*(wearRight-wearLeft)
}

func (s wearScale) y(value float64) float64 {
	return wearTop + wearHeight - (value-s.low)/(s.high-s.low)*wearHeight
}

// within keeps a length inside the frame.
func (s wearScale) within(value float64) float64 { return math.Max(s.low, math.Min(s.high, value)) }

// scale holds all readings, the limit and the middle of the band; the ends of a wide
// band may leave the frame.
func (w *Wear) scale() wearScale {
	s := wearScale{math.Inf(1), w.Now, math.Min(0, w.Limit), w.Limit}
	take := func(hours, value float64) {
		s.fromHours, s.toHours = math.Min(s.fromHours, hours), math.Max(s.toHours, hours)
		s.low, s.high = math.Min(s.low, value), math.Max(s.high, value)
	}
	for _, r := range w.Readings {
		take(r.Hours, r.Value-2*r.U)
		take(r.Hours, r.Value+2*r.U)
	}
	for _, p := range w.Band {
		take(p.Hours, p.Middle)
	}
	if !(s.toHours > s.fromHours) {
		s.fromHours, s.toHours = s.toHours-1, s.toHours+1
	}
	room := 0.08 * (s.high - s.low)
	if room <= 0 {
		room = 1
	}
	s.low, s.high = s.low-room, s.high+room
	return s
}

// Draw draws the readings with what they may be off, the line of now with its band,
// and the limit.
func (w *Wear) Draw() doc.Figure {
	c, s := &canvas{}, w.scale()
	foot := wearTop + wearHeight
	c.rect(wearLeft, wearTop, wearRight-wearLeft, wearHeight, thin)
	c.axis(wearLeft, wearTop-10, start, w.Unit)
	step := tick125((s.high - s.low) / 6)
	for v := math.Ceil(s.low/step) * step; v <= s.high; v += step {
		c.line(wearLeft-4, s.y(v), wearLeft, s.y(v), thin)
		c.axis(wearLeft-8, s.y(v)+4, end, fmt.Sprintf("%.4g", v+0))
	}
	step = tick125((s.toHours - s.fromHours) / 7)
	for h := math.Ceil(s.fromHours/step) * step; h <= s.toHours; h += step {
		c.line(s.x(h), foot, s.x(h), foot+4, thin)
		c.axis(s.x(h), foot+18, middle, fmt.Sprintf("%.0f", h))
	}
	c.text((wearLeft+wearRight)/2, foot+36, middle, "hours of the pump")
	w.band(c, s)
	c.line(wearLeft, s.y(w.Limit), wearRight, s.y(w.Limit), heavy)
	c.bold(wearRight-6, s.y(w.Limit)-6, end, w.LimitIs)
	c.line(s.x(w.Now), wearTop, s.x(w.Now), foot, dotted)
	c.text(s.x(w.Now)+4, foot-6, start, "now")
	w.readings(c, s)
	return c.picture(w.Name, w.Title, "Dots are readings, the bars what they may be off (95 %). A ring is rather a misreading. The line is the wear since the last repair, the dashed lines its limits (95 %). Chain lines: set back by a repair. The thick line is the limit.", w.Says...)
}

// band draws the line of now between its limits.
func (w *Wear) band(c *canvas, s wearScale) {
	for _, line := range []struct {
		of    func(WearPoint) float64
		style string
	}{
		{func(p WearPoint) float64 { return p.Low }, dashed}, {func(p WearPoint) float64 { return p.Middle }, solid}, {func(p WearPoint) float64 { return p.High }, dashed},
	} {
		var points []point
		for _, p := range w.Band {
			if v := line.of(p); v == s.within(v) {
				points = append(points, point{s.x(p.Hours), s.y(v)})
			}
		}
		if len(points) > 1 {
			c.path(points, line.style)
		}
	}
}

// readings draws the readings, and a line where one was set back behind another.
func (w *Wear) readings(c *canvas, s wearScale) {
	for i, r := range w.Readings {
		x := s.x(r.Hours)
		if i > 0 && w.Readings[i-1].Run != r.Run {
			at := (s.x(w.Readings[i-1].Hours) + x) / 2
			c.line(at, wearTop, at, wearTop+wearHeight, chain)
		}
		c.line(x, s.y(r.Value-2*r.U), x, s.y(r.Value+2*r.U), thin)
		style := black
		if r.Misread {
			style = white
		}
		c.circle(x, s.y(r.Value), wearMark, style)
	}
}

// tick125 is the least of 1, 2 or 5 times a power of ten that is no less than a
// distance.
func tick125(least float64) float64 {
	if !(least > 0) {
		return 1
	}
	power := math.Pow(10, math.Floor(math.Log10(least)))
	for _, m := range []float64{1, 2, 5} {
		if m*power >= least {
			return m * power
		}
	}
	return 10 * power
}
