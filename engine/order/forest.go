package order

// block is units of a forest that are done in one go, with what they take and
// expose together.
type block struct {
	units         []int
	minutes, gain float64
}

// same is how near two gains per minute are that count as equal, so that the
// lower index decides and not the rounding.
const same = 1e-12

// denser says whether a exposes more per minute than b. What takes no time
// comes before everything that does.
func (a block) denser(b block) bool {
	if a.minutes == 0 || b.minutes == 0 {
		return a.minutes == 0 && b.minutes > 0
	}
	return a.gain*b.minutes > b.gain*a.minutes*(1+same)
}

// mergeForest orders units of which each waits for at most one other (parent,
// -1 for none) and exposes its own causes only: blocks in falling gain per
// minute, which is the best order.
//
// W. A. Horn, Single-machine job sequencing with treelike precedence ordering
// and linear delay penalties, SIAM J. Appl. Math. 23 (1972); D. Adolphson and
// T. C. Hu, Optimal linear ordering, SIAM J. Appl. Math. 25 (1973): a unit and
// what follows it become one block while what follows is the denser one.
func mergeForest(minutes, gain []float64, parent []int) []block {
	children := make([][]int, len(parent)+1)
	for u, p := range parent {
		children[p+1] = append(children[p+1], u)
	}
	var below func(node int) []block
	below = func(node int) []block {
		var out []block
		for _, u := range children[node+1] {
			out = mergeBlocks(out, below(u))
		}
		if node < 0 {
			return out
		}
		head := block{units: []int{node}, minutes: minutes[node], gain: gain[node]}
		for len(out) > 0 && out[0].denser(head) {
			head.units = append(head.units, out[0].units...)
			head.minutes += out[0].minutes
			head.gain += out[0].gain
			out = out[1:]
		}
		return append([]block{head}, out...)
	}
	return below(-1)
}

// mergeBlocks merges two lists that fall in gain per minute; of equals the one
// from the first list comes first.
func mergeBlocks(a, b []block) []block {
	if len(a) == 0 || len(b) == 0 {
		return append(a, b...)
	}
	out := make([]block, 0, len(a)+len(b))
	for len(a) > 0 && len(b) > 0 {
		if b[0].denser(a[0]) {
			out, b = append(out, b[0]), b[1:]
		} else {
			out, a = append(out, a[0]), a[1:]
		}
	}
	return append(append(out, a...), b...)
}
