package drawing

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"telltale/cmd/internal/doc"
)

// Found is the chance that the trouble has been found against the minutes of
// the job.
type Found struct {
	Name   string
	Checks []FoundAt
	Means  []Mean
}

// FoundAt is the end of one check.
type FoundAt struct {
	Step    int
	Minutes float64
	Chance  float64
	Time    string // the minutes as the report prints them
	Words   string // the chance as the report prints it
}

// Mean is the mean minutes to the cause by one way of ordering.
type Mean struct {
	Minutes float64
	Words   string
}

// The frame of the chart, and where the words beside it stand.
const (
	foundLeft   = 70.0
	foundRight  = 430.0
	foundHeight = 120.0
	foundWords  = 464.0
)

var meanStyles = []string{solid, dashed, dotted}

// Draw draws the chance found as a stair over the minutes.
func (f *Found) Draw() doc.Figure {
	c := &canvas{}
	most := 1.0
	for _, p := range f.Checks {
		most = math.Max(most, p.Minutes)
	}
	for _, m := range f.Means {
		most = math.Max(most, m.Minutes)
	}
	top := 12 + float64(len(f.Means))*20 + 12
	zero := top + foundHeight
	x := func(minutes float64) float64 { return foundLeft + minutes/most*(foundRight-foundLeft) }
	y := func(chance float64) float64 { return zero - chance*foundHeight }
	c.line(foundLeft, zero, foundRight, zero, solid)
	c.line(foundLeft, top, foundLeft, zero, solid)
	for i, word := range []string{"0 %", "50 %", "100 %"} {
		at := y(float64(i) / 2)
		c.line(foundLeft-4, at, foundLeft, at, thin)
		c.axis(foundLeft-8, at+4, end, word)
	}
	step := tick(most)
	for m := 0.0; m <= most; m += step {
		c.line(x(m), zero, x(m), zero+4, thin)
		c.axis(x(m), zero+18, middle, fmt.Sprintf("%.0f", m))
	}
	c.text((foundLeft+foundRight)/2, zero+34, middle, "minutes of work from the start of the list")
	f.means(c, x, zero)
	f.beside(c, top)
	f.stair(c, x, y)
	return c.picture(f.Name, "Chance that the trouble is found, against minutes", "The thick line is the chance. The figures on it are step numbers.", f.says()...)
}

// tick is a round distance between the marks of an axis.
func tick(most float64) float64 {
	for _, t := range []float64{1, 5, 10, 20, 30, 60, 120, 240, 480} {
		if most/t <= 8 {
			return t
		}
	}
	return math.Pow(10, math.Ceil(math.Log10(most/8)))
}

// means marks the mean minutes of each way with a letter.
// The later a line the higher it starts, so that none runs through a letter.
func (f *Found) means(c *canvas, x func(float64) float64, zero float64) {
	later := slices.Clone(f.Means)
	slices.SortStableFunc(later, func(a, b Mean) int { return cmp.Compare(b.Minutes, a.Minutes) })
	for row, m := range later {
		i := slices.Index(f.Means, m)
		at, y := x(m.Minutes), 14+float64(row)*20
		c.line(at, y-8, at, zero, meanStyles[i%len(meanStyles)])
		c.bold(at-5, y+2, end, letter(i))
	}
}

// beside says what the letters mean.
func (f *Found) beside(c *canvas, foot float64) {
	if len(f.Means) == 0 {
		return
	}
	c.bold(foundWords, foot, start, "If the list finds it:")
	foot += lineHeight + 4
	for i, m := range f.Means {
		c.line(foundWords, foot-4, foundWords+26, foot-4, meanStyles[i%len(meanStyles)])
		c.bold(foundWords+32, foot, start, letter(i))
		foot = c.block(foundWords+48, foot, start, wrap(m.Words, columns(Width-foundWords-48)), c.text) + 4
	}
}

func letter(i int) string { return string(rune('A' + i%26)) }

func (f *Found) stair(c *canvas, x, y func(float64) float64) {
	points := []point{{x(0), y(0)}}
	last := point{-100, -100}
	for _, p := range f.Checks {
		now := points[len(points)-1]
		points = append(points, point{x(p.Minutes), now.y}, point{x(p.Minutes), y(p.Chance)})
	}
	c.path(points, heavy)
	for _, p := range f.Checks {
		at := point{x(p.Minutes) - 5, y(p.Chance) + 14}
		if math.Abs(at.x-last.x) < 26 && math.Abs(at.y-last.y) < 14 {
			continue // the words below name every step
		}
		c.circle(x(p.Minutes), y(p.Chance), 3.5, black)
		c.write(at.x+10, at.y, start, fmt.Sprint(p.Step), ` font-weight="bold" stroke="#fff" stroke-width="3" paint-order="stroke"`)
		last = at
	}
}

func (f *Found) says() []string {
	checks := doc.Each(f.Checks, func(p FoundAt) string { return fmt.Sprintf("step %d, %s: %s", p.Step, p.Time, p.Words) })
	means := strings.Join(doc.Each(f.Means, func(m Mean) string { return m.Words }), "; ")
	return doc.Said("Found by the end of "+strings.Join(checks, "; ")+".", doc.If(means != "", "If the list finds it, "+means+"."))
}
