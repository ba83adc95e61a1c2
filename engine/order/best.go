package order

// Options says how Best goes about it. The zero value is usable.
type Options struct {
	// Least is the weight that a check has to add to be in the list; see Best.
	Least float64
	// MaxSets limits how many sets of finished steps are weighed one by one
	// for each part of the list; 0 means 1<<20.
	MaxSets int
}

// Tier names the way in which an order was found.
type Tier string

// The ways in which Best finds an order.
const (
	Merge   Tier = "merge"    // steps joined and put in line by rules that keep a best order
	AllSets Tier = "all sets" // every set of finished steps weighed
	Search  Tier = "search"   // improved bit by bit: no proof but the bound
)

// Proof says how good an order is known to be. Cost and Bound are in weight
// times minutes, the minutes counted from the end of the steps done before.
type Proof struct {
	Exact bool    // no order of the same steps has a lower J
	Tier  Tier    // the weakest way that was needed
	Cost  float64 // J of the order
	Bound float64 // no order of the same steps has a J below this; Cost if Exact
}

// Best orders steps like Greedy, after those in first, but as well as can be
// proven: no order of the same steps has a lower J when the proof is exact.
//
// Which steps these are depends on Least, and not on the order alone, so there
// are two lists. One has the steps that Greedy chooses. The other starts from
// every check that exposes at least Least by itself, orders them, drops those
// that add less than Least at their place, and orders the rest again, until
// none is dropped. Best takes the one with the lower J if it exposes no less.
// So it is never behind Greedy in either, and whatever is left out would add
// less than Least, or nothing, at the end of the list. The proof is about the
// order of the steps, not about their choice.
//
// The problem is cut where all of one side comes before all of the other, and
// made smaller by rules that keep a best order. What is left of a part is
// settled by weighing every set of finished steps, or, if there are more than
// MaxSets, by a search with a bound. Equal choices go the same way every time.
//
// It is an error if the problem does not pass Check, or first or allowed do not
// fit it.
func Best(p *Problem, first []int, allowed []bool, options Options) ([]int, Proof, error) {
	if err := p.Check(); err != nil {
		return nil, Proof{}, err
	}
	if err := p.fits(first, allowed, options); err != nil {
		return nil, Proof{}, err
	}
	if options.MaxSets <= 0 {
		options.MaxSets = 1 << 20
	}
	c := newChoice(p, first, allowed, options)
	greedy := Greedy(p, first, allowed, options.Least)
	sequence, proof := c.order(greedy)
	if other := c.trimmed(first); !sameSteps(other, greedy) {
		if o, oProof := c.order(other); c.better(o, oProof, sequence, proof) {
			sequence, proof = o, oProof
		}
	}
	return sequence, proof, nil
}

// solver orders jobs part by part and keeps the weakest tier that it needed.
type solver struct {
	maxSets int
	place   []int // of each step in the order that a search starts from
	rough   bool  // a short search without a bound will do
	tier    Tier
}

// solve gives the steps of the job in order, and a J that no order beats.
func (s *solver) solve(j *job) (sequence []int, bound float64) {
	j.reduce()
	parts := j.split()
	if len(parts) <= 1 {
		units, bound := s.settle(j)
		return j.steps(units), bound
	}
	left := append([]float64(nil), j.weight...)
	for _, members := range parts {
		steps, low := s.solve(j.part(members, left))
		sequence, bound = append(sequence, steps...), bound+low
		for _, u := range members {
			j.expose(u, left)
		}
	}
	return sequence, bound
}

// settle orders the units of a part that no rule makes smaller.
func (s *solver) settle(j *job) (units []int, bound float64) {
	if len(j.units) <= 1 {
		units = upTo(len(j.units))
		return units, j.cost(units)
	}
	if units, ok := j.allSets(s.maxSets); ok {
		if s.tier == Merge {
			s.tier = AllSets
		}
		return units, j.cost(units)
	}
	s.tier = Search
	if s.rough {
		units, _ = j.improve(j.byOwnGain(), new(effort/10))
		return units, 0
	}
	units = j.search(j.inPlace(s.place), j.byOwnGain())
	return units, min(j.bound(), j.cost(units))
}

// inPlace lists the units by the place of their last steps, as far as what
// comes before what lets it.
func (j *job) inPlace(place []int) []int {
	rank := make([]int, len(j.units))
	for u, it := range j.units {
		rank[u] = place[it.steps[len(it.steps)-1]]
	}
	return j.inLine(rank)
}

// byOwnGain is the best order if every check exposed what it exposes at the
// start and each unit waited for at most one other, put right where it breaks
// what comes before what.
func (j *job) byOwnGain() []int {
	rank := make([]int, len(j.units))
	gain := make([]float64, len(j.units))
	for u := range gain {
		gain[u] = j.gain(u, j.weight)
	}
	k := 0
	for _, b := range mergeForest(j.durations(), gain, j.oneParent()) {
		for _, u := range b.units {
			rank[u] = k
			k++
		}
	}
	return j.inLine(rank)
}

// inLine takes again and again the ready unit of the lowest rank.
func (j *job) inLine(rank []int) []int {
	done := newSet(len(j.units))
	var out []int
	for range j.units {
		next := -1
		for u := range j.units {
			if !done.has(u) && j.before[u].within(done) && (next < 0 || rank[u] < rank[next]) {
				next = u
			}
		}
		done.add(next)
		out = append(out, next)
	}
	return out
}

func (j *job) durations() []float64 {
	out := make([]float64, len(j.units))
	for u, it := range j.units {
		out[u] = it.minutes
	}
	return out
}

// oneParent keeps, of the units that each one waits for, the one with the most
// minutes up to its end; -1 if it waits for none.
func (j *job) oneParent() []int {
	out := make([]int, len(j.units))
	for u := range out {
		out[u] = -1
		most := -1.0
		for _, v := range j.direct(u) {
			minutes := j.units[v].minutes
			for _, w := range j.before[v].members() {
				minutes += j.units[w].minutes
			}
			if minutes > most {
				out[u], most = v, minutes
			}
		}
	}
	return out
}
