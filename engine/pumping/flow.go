package pumping

import (
	"math"
	"sort"
)

// Swing is the greatest and the least flow over a turn, each over the mean
// flow, with no dampener and with valves that open and close at dead centre.
// Suction and discharge swing alike.
type Swing struct{ Max, Min float64 }

// FlowSwing is the swing by the pump's own exact kinematics, found to about
// 1e-12.
func (p Pump) FlowSwing() Swing { return p.suctionFlow(p.ratio(), p.rodShare()).swing() }

// AccelerationConstant is the C of AccelerationHead: 2 pi/60 times the
// steepest rise of the suction flow by crank angle over the mean flow. It is
// found to about 1e-12 from the pump's own kinematics, and a duplex's rods
// count. At r/l = 1/5 and with thin rods it is the handbooks' .066 for a
// triplex and .115 for a duplex.
func (p Pump) AccelerationConstant() float64 {
	return p.suctionFlow(p.ratio(), p.rodShare()).accelerationConstant()
}

// rodShare is the fraction of the bore that the piston rod takes.
func (p Pump) rodShare() float64 { return 1 - p.Area(CrankEnd)/p.Area(HeadEnd) }

// flow is the summed flow of chambers over the crank angle of the first
// cylinder, in head-end areas times crank radii per rad.
type flow struct {
	ratio    float64
	chambers []chamber
}

type chamber struct {
	phase float64 // of its cylinder ahead of the first, rad
	area  float64 // over the head end's; negative at the crank end, which draws on the forward stroke
}

// suctionFlow is the suction flow of the layout. The cranks stand a turn over
// the number of cylinders apart, or half that in a double-acting pump, whose
// ends are half a turn apart already.
func (l layout) suctionFlow(ratio, rodShare float64) flow {
	step := 2 * math.Pi / float64(l.cylinders)
	if l.doubleActing {
		step /= 2
	}
	f := flow{ratio: ratio}
	for i := range l.cylinders {
		phase := float64(i) * step
		f.chambers = append(f.chambers, chamber{phase, 1})
		if l.doubleActing {
			f.chambers = append(f.chambers, chamber{phase, rodShare - 1})
		}
	}
	return f
}

// mean is the mean flow: each chamber moves two radii of piston travel a turn.
func (f flow) mean() float64 {
	sum := 0.0
	for _, c := range f.chambers {
		sum += math.Abs(c.area)
	}
	return sum / math.Pi
}

// pieces are the angles of all dead centres over a turn, ends included.
// Between two of them the same chambers draw and the flow is smooth.
func (f flow) pieces() []float64 {
	at := []float64{0, 2 * math.Pi}
	for _, c := range f.chambers {
		dead := math.Mod(c.phase, math.Pi)
		at = append(at, math.Pi-dead, 2*math.Pi-dead)
	}
	sort.Float64s(at)
	return at
}

// drawing are the chambers that draw at an angle.
func (f flow) drawing(angle float64) flow {
	d := flow{ratio: f.ratio}
	for _, c := range f.chambers {
		if c.area*slope(f.ratio, angle+c.phase) > 0 {
			d.chambers = append(d.chambers, c)
		}
	}
	return d
}

// at sums a derivative of the piston position over the chambers.
func (f flow) at(derivative func(ratio, angle float64) float64, angle float64) float64 {
	sum := 0.0
	for _, c := range f.chambers {
		sum += c.area * derivative(f.ratio, angle+c.phase)
	}
	return sum
}

func (f flow) swing() Swing {
	return Swing{Max: f.most(slope, 1) / f.mean(), Min: -f.most(slope, -1) / f.mean()}
}

func (f flow) accelerationConstant() float64 {
	return 2 * math.Pi / 60 * f.most(bend, 1) / f.mean()
}

// most is the greatest value of sign times the sum over a turn. Each smooth
// piece is taken with its own ends, since the slope jumps there.
func (f flow) most(derivative func(ratio, angle float64) float64, sign float64) float64 {
	best := math.Inf(-1)
	at := f.pieces()
	for i := range at[1:] {
		d := f.drawing((at[i] + at[i+1]) / 2)
		value := func(angle float64) float64 { return sign * d.at(derivative, angle) }
		best = math.Max(best, peak(value, at[i], at[i+1]))
	}
	return best
}

// peak is the greatest value of a smooth function from low to high: the best
// of 64 steps, then a golden section about it. The angle is found to about
// 1e-8 rad, and the value, flat there, to rounding.
func peak(value func(float64) float64, low, high float64) float64 {
	const steps = 64
	step := (high - low) / steps
	top, best := low, value(low)
	for i := 1; i <= steps; i++ {
		x := low + float64(i)*step
		if v := value(x); v > best {
			top, best = x, v
		}
	}
	a, b := math.Max(low, top-step), math.Min(high, top+step)
	for range 50 {
		part := (math.Sqrt(5) - 1) / 2 * (b - a)
		left, right := b-part, a+part
		if value(left) > value(right) {
			b = right
		} else {
			a = left
		}
	}
	return math.Max(best, value((a+b)/2))
}
