package noisyor

// stepKind is what one step does to the state.
type stepKind uint8

const (
	enter stepKind = iota // an observation becomes the highest bit, not explained
	meet                  // a multi-link cause is present or not
	leave                 // an observation is required and its bit dropped
)

// step is one move of the chain through the state, a vector over the subsets of
// the open observations explained so far.
type step struct {
	kind  stepKind
	width int // open observations before the step
	// meet:
	cause    int
	firstPin int
	pins     int
	// leave:
	obs   int
	bit   int     // weight of the dropped bit in the state's index
	yes   float64 // background
	scale float64 // power of two that keeps the state near one
}

// pin is one link of the cause of a step: the bit of its observation and its masses.
type pin struct {
	bit     int
	yes, no float64
}

// after returns how many observations are open after the step.
func (t *step) after() int {
	switch t.kind {
	case enter:
		return t.width + 1
	case leave:
		return t.width - 1
	default:
		return t.width
	}
}

// plan turns an order of the multi-link causes into steps.
type plan struct {
	steps []step
	pins  []pin
	width int   // most observations open at once
	last  []int // by observation: position of its last cause, or -1
	slot  []int // by observation: its bit's place
	live  []int // open observations, by place
}

// build lays out the steps for the causes of n in the given order. back holds the
// background yes mass of each observation with its single-link causes folded in.
func (p *plan) build(n *network, order []int, back []float64) {
	p.reset(n, order)
	for k, c := range order {
		p.open(n, c)
		p.meet(n, c)
		for l := n.first[c]; l < n.first[c+1]; l++ {
			if i := n.obs[l]; p.last[i] == k {
				p.close(i, back[i])
			}
		}
	}
}

// reset empties the plan and finds the last cause of every observation.
func (p *plan) reset(n *network, order []int) {
	p.steps, p.pins, p.live, p.width = p.steps[:0], p.pins[:0], p.live[:0], 0
	p.last = resize(p.last, len(n.backYes))
	p.slot = resize(p.slot, len(n.backYes))
	for i := range p.last {
		p.last[i], p.slot[i] = -1, -1
	}
	for k, c := range order {
		for l := n.first[c]; l < n.first[c+1]; l++ {
			p.last[n.obs[l]] = k
		}
	}
}

// open lets in the observations of cause c that are not open yet.
func (p *plan) open(n *network, c int) {
	for l := n.first[c]; l < n.first[c+1]; l++ {
		i := n.obs[l]
		if p.slot[i] >= 0 {
			continue
		}
		p.steps = append(p.steps, step{kind: enter, width: len(p.live)})
		p.slot[i] = len(p.live)
		p.live = append(p.live, i)
	}
	p.width = max(p.width, len(p.live))
}

// meet adds the step of cause c.
func (p *plan) meet(n *network, c int) {
	t := step{kind: meet, width: len(p.live), cause: c, firstPin: len(p.pins)}
	for l := n.first[c]; l < n.first[c+1]; l++ {
		p.pins = append(p.pins, pin{1 << p.slot[n.obs[l]], n.yes[l], n.no[l]})
	}
	t.pins = len(p.pins) - t.firstPin
	p.steps = append(p.steps, t)
}

// close requires observation i and drops its bit; higher bits move down.
func (p *plan) close(i int, yes float64) {
	place := p.slot[i]
	p.steps = append(p.steps, step{kind: leave, width: len(p.live), obs: i, bit: 1 << place, yes: yes, scale: 1})
	copy(p.live[place:], p.live[place+1:])
	p.live = p.live[:len(p.live)-1]
	for at := place; at < len(p.live); at++ {
		p.slot[p.live[at]] = at
	}
}
