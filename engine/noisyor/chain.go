package noisyor

import "math"

// wholeLimit is the number of state entries (8 bytes each) up to which every state of
// the forward pass is kept. Beyond it only checkpoints are, and the states between two
// of them are worked out again on the way back.
const wholeLimit = 4 << 20

// shortRun is the number of state entries worked through between two checkpoints when
// nothing but the evidence is wanted.
const shortRun = 16 << 10

// chain runs a plan forwards and backwards.
type chain struct {
	*plan
	on, off []float64 // shares of presence and absence by cause

	starts []int     // first step of every segment, and the number of steps
	at     []int     // where each step's state lies in run
	run    []float64 // states of one segment
	marks  []float64 // states at the start of every segment, one after another
	mark   []int     // where each segment's state lies in marks
	temp   []float64 // between two kernels of one step
	g      []float64 // likelihood of the steps to come, by state
	spare  []float64
	exp    int // power of two taken out by the scales of the forward pass
}

// pair is the mass of the evidence with something present and with it absent,
// up to a factor common to both.
type pair struct{ present, absent float64 }

// evidence runs forwards only and returns the mass of the evidence.
func (c *chain) evidence() scaled {
	c.divide(max(shortRun, 4<<c.width))
	return c.forward(false)
}

// posteriors runs both ways. It fills causes, by cause, with the masses of presence and
// absence, and ends, by observation, with those of explained and not explained by any
// multi-link cause; both only where a step of the plan tells.
func (c *chain) posteriors(causes, ends []pair) scaled {
	total := 0
	for i := range c.steps {
		total += 1 << c.steps[i].width
	}
	run := total + 1
	if total > wholeLimit {
		run = int(math.Sqrt(float64(total) * float64(int(1)<<c.width)))
	}
	c.divide(run)
	mass := c.forward(true)
	if mass.part > 0 {
		c.backward(causes, ends)
	}
	return mass
}

// divide cuts the steps into segments whose states take at most limit entries, unless
// one step alone takes more, and sizes the scratch.
func (c *chain) divide(limit int) {
	c.starts, c.mark = append(c.starts[:0], 0), append(c.mark[:0], 0)
	c.at = resize(c.at, len(c.steps)+1)
	used, longest, marks := 0, 0, 1
	for i := range c.steps {
		size := 1 << c.steps[i].width
		next := 1 << c.steps[i].after()
		if used > 0 && used+size+next > limit {
			c.starts, c.mark = append(c.starts, i), append(c.mark, marks)
			marks += size
			used = 0
		}
		c.at[i] = used
		used += size
		longest = max(longest, used+next)
	}
	c.starts = append(c.starts, len(c.steps))
	c.run = resize(c.run, max(longest, 1))
	c.marks = resize(c.marks, marks)
	c.temp = resize(c.temp, 1<<c.width)
}

// forward runs all segments and returns the final mass. With keep set the state at the
// start of every segment is kept.
func (c *chain) forward(keep bool) scaled {
	c.exp = 0
	state := c.marks[:1]
	state[0] = 1
	for s := range len(c.starts) - 1 {
		if keep && s > 0 {
			mark := c.marks[c.mark[s] : c.mark[s]+len(state)]
			copy(mark, state)
		}
		state = c.segment(s, state)
	}
	return scaled{state[0], c.exp}
}

// segment runs one segment from the given state, leaves the states before each of its
// steps in run, and returns the one after it.
func (c *chain) segment(s int, state []float64) []float64 {
	copy(c.run, state)
	state = c.run[:len(state)]
	for i := c.starts[s]; i < c.starts[s+1]; i++ {
		t := &c.steps[i]
		begin := c.at[i] + 1<<t.width
		next := c.run[begin : begin+1<<t.after()]
		c.step(t, next, state)
		state = next
	}
	return state
}

// step writes the state after t into next.
func (c *chain) step(t *step, next, state []float64) {
	switch t.kind {
	case enter:
		copy(next, state)
		clear(next[len(state):])
	case meet:
		c.meetForward(t, next, state)
	case leave:
		t.scale = 1
		settle(next, state, t.bit, t.yes, t.scale)
		c.rescale(t, next)
	}
}

// meetForward works in the cause of t, two pins at a time, then the last two or three.
func (c *chain) meetForward(t *step, next, state []float64) {
	pins := c.pins[t.firstPin : t.firstPin+t.pins]
	src := state
	for len(pins) > 3 {
		temp := c.temp[:len(state)]
		spread2(temp, src, pins[0], pins[1])
		src, pins = temp, pins[2:]
	}
	on, off := c.on[t.cause], c.off[t.cause]
	if len(pins) == 3 {
		mix3(next, state, src, off, on, pins[0], pins[1], pins[2])
		return
	}
	mix2(next, state, src, off, on, pins[0], pins[1])
}

// A state is brought back near one when its greatest entry leaves these bounds.
const (
	leastTop = 0x1p-200
	mostTop  = 0x1p+200
)

// rescale brings a state that has become very small or large back near one. Running a
// segment again finds the same scale again.
func (c *chain) rescale(t *step, state []float64) {
	top := 0.0
	for _, x := range state {
		top = max(top, x)
	}
	if top == 0 || top > leastTop && top < mostTop {
		return
	}
	_, exp := math.Frexp(top)
	t.scale = math.Ldexp(1, -exp)
	for k := range state {
		state[k] *= t.scale
	}
	c.exp += exp
}

// backward runs all segments from the last to the first.
func (c *chain) backward(causes, ends []pair) {
	c.g, c.spare = resize(c.g, 1<<c.width), resize(c.spare, 1<<c.width)
	c.g[0] = 1
	g, spare := c.g, c.spare
	for s := len(c.starts) - 2; s >= 0; s-- {
		if s < len(c.starts)-2 {
			begin := c.mark[s]
			c.segment(s, c.marks[begin:begin+1<<c.steps[c.starts[s]].width])
		}
		for i := c.starts[s+1] - 1; i >= c.starts[s]; i-- {
			t := &c.steps[i]
			before := c.run[c.at[i] : c.at[i]+1<<t.width]
			switch t.kind {
			case meet:
				causes[t.cause] = c.meetBackward(t, g[:len(before)], before)
			case leave:
				open, done := unsettle(spare[:len(before)], g[:len(before)/2], before, t.bit, t.yes, t.scale)
				ends[t.obs] = pair{done, open}
				g, spare = spare, g
			}
		}
	}
}

// meetBackward is the transpose of meetForward on g and returns what the cause of t
// weighs.
func (c *chain) meetBackward(t *step, g, before []float64) pair {
	pins := c.pins[t.firstPin : t.firstPin+t.pins]
	src := g
	for len(pins) > 3 {
		temp := c.temp[:len(g)]
		gather2(temp, src, pins[0], pins[1])
		src, pins = temp, pins[2:]
	}
	on, off := c.on[t.cause], c.off[t.cause]
	var present, absent float64
	if len(pins) == 3 {
		present, absent = join3(g, src, before, off, on, pins[0], pins[1], pins[2])
	} else {
		present, absent = join2(g, src, before, off, on, pins[0], pins[1])
	}
	return pair{present, absent}
}
