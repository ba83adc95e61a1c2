package drawing

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"telltale/cmd/internal/doc"
)

// Turn is the force of a crosshead on its guides over one turn of its crank,
// down positive, in newtons, at equal angles from the piston at the fluid end
// to the same again.
type Turn struct {
	Name             string
	Forward, Reverse []float64
	Most             string // the greatest force, as the report prints it
	Rotation         string // this pump's: forward, reverse, or "" if not known
}

const (
	turnLeft, turnRight = 20.0, 660.0
	turnRoom            = 70.0
	turnZero            = 46.0 + turnRoom
)

// Draw draws the force over the turn, down drawn down.
func (t *Turn) Draw() doc.Figure {
	c := &canvas{}
	most := 0.0
	for _, f := range slices.Concat(t.Forward, t.Reverse) {
		most = math.Max(most, math.Abs(f))
	}
	c.text(turnLeft, turnZero-turnRoom-20, start, "above the line: pressed on the UPPER guide")
	c.text(turnLeft, turnZero+turnRoom+24, start, "below the line: pressed on the LOWER guide")
	c.line(turnLeft, turnZero, turnRight, turnZero, thin)
	for i, name := range []string{"piston at the fluid end", "goes back", "at the power end", "goes forward", "at the fluid end"} {
		x := turnLeft + float64(i)*(turnRight-turnLeft)/4
		anchor, foot := middle, turnZero+turnRoom+46
		switch i {
		case 0:
			anchor = start
		case 4:
			anchor = end
		case 1, 3: // the strokes between the dead centres stand a line lower
			foot += lineHeight
		}
		c.line(x, turnZero-4, x, turnZero+4, thin)
		c.axis(x, foot, anchor, name)
	}
	ways := []struct {
		says, legend string
		this         bool
		force        []float64
		style        string
		x            float64
	}{
		{"Turning forward", "turning forward", t.Rotation == "forward", t.Forward, heavy, turnLeft},
		{"Turning in reverse", "turning in reverse", t.Rotation == "reverse", t.Reverse, dashed, turnLeft + 330},
	}
	for _, w := range ways {
		c.path(t.curve(w.force, most), w.style)
	}
	if !pressed(t.Forward[:half(t.Forward)]) && !pressed(t.Reverse[:half(t.Reverse)]) {
		c.block((turnLeft+turnLeft+(turnRight-turnLeft)/2)/2, turnZero-2*lineHeight+6, middle, []string{"not pressed: lies by its weight", "on the lower guide"}, c.text)
	}
	c.text(turnRight, turnZero-turnRoom-20, end, "most either way: "+t.Most)
	foot := turnZero + turnRoom + 46 + 2.4*lineHeight
	var says []string
	by := "The case does not say which way this pump turns."
	for _, w := range ways {
		c.line(w.x, foot-4, w.x+40, foot-4, w.style)
		if w.this {
			w.legend += " (this pump)"
			by = "This pump turns " + strings.TrimPrefix(w.says, "Turning ") + " by the case."
		}
		c.text(w.x+48, foot, start, w.legend)
		says = append(says, t.words(w.says, w.force))
	}
	key := "Forward: the top of the crankshaft moves toward the fluid end. The crosshead's weight, inertia and friction are left out. The other cylinders do the same later in the turn."
	return c.picture(t.Name, "Which guide carries the crosshead through one turn", key, append(says, "The greatest force either way is "+t.Most+".", by)...)
}

func half(list []float64) int { return len(list) / 2 }

// least is the force in newtons under which rounding has left nothing.
const least = 1e-3

func pressed(list []float64) bool {
	return slices.ContainsFunc(list, func(force float64) bool { return math.Abs(force) > least })
}

func (t *Turn) curve(list []float64, most float64) []point {
	var out []point
	for i, f := range list {
		y := turnZero
		if most > 0 {
			y += f / most * turnRoom
		}
		out = append(out, point{turnLeft + float64(i)/float64(len(list)-1)*(turnRight-turnLeft), y})
	}
	return out
}

// words says which guide each stroke loads.
func (t *Turn) words(way string, list []float64) string {
	at := half(list) / 2
	return fmt.Sprintf("%s: while the piston goes back the crosshead %s; while it goes forward it %s.", way, lies(list[at]), lies(list[half(list)+at]))
}

// lies says on which guide a force presses; what rounding leaves of nothing is
// nothing.
func lies(force float64) string {
	switch {
	case force > least:
		return "is pressed on the lower guide"
	case force < -least:
		return "is pressed on the upper guide"
	}
	return "is not pressed and lies by its weight on the lower guide"
}
