package order

import "slices"

// bare is a job without its doors: the units that expose nothing but have
// behind them what does. In some best order a door stands right before the
// first node behind it, perhaps with other doors of that node between, because
// to put it off until then makes nothing later. So the nodes done say which
// doors are open.
type bare struct {
	nodes         []int    // units
	before, after []uint64 // nodes before and behind each node
	own           []float64
	doors         [][]door // of each node, in an order in which they can be done
}

type door struct {
	unit    int
	minutes float64
	serves  uint64 // the nodes behind it
}

// bare fails if there are more than 64 nodes.
func (j *job) bare() (*bare, bool) {
	b := &bare{}
	at := make([]int, len(j.units)) // node of each unit, -1 for a door
	for _, u := range j.bitOrder() {
		at[u] = -1
		if !j.isDoor(u) {
			at[u] = len(b.nodes)
			b.nodes = append(b.nodes, u)
		}
	}
	if len(b.nodes) > 64 {
		return nil, false
	}
	bitsOf := func(s set) uint64 {
		out := uint64(0)
		for _, u := range s.members() {
			if at[u] >= 0 {
				out |= 1 << at[u]
			}
		}
		return out
	}
	for _, u := range b.nodes {
		b.before = append(b.before, bitsOf(j.before[u]))
		b.after = append(b.after, bitsOf(j.after[u]))
		b.own = append(b.own, j.units[u].minutes)
		var doors []door
		for _, v := range j.before[u].members() {
			if at[v] < 0 {
				doors = append(doors, door{v, j.units[v].minutes, bitsOf(j.after[v])})
			}
		}
		slices.SortStableFunc(doors, func(x, y door) int {
			return j.before[x.unit].count() - j.before[y.unit].count()
		})
		b.doors = append(b.doors, doors)
	}
	return b, true
}

func (j *job) isDoor(u int) bool {
	if len(j.units[u].finds) > 0 {
		return false
	}
	for _, v := range j.after[u].members() {
		if len(j.units[v].finds) > 0 {
			return true
		}
	}
	return false
}

// minutes is what node k takes when the nodes in s are done, with the doors
// that it still needs.
func (b *bare) minutes(k int, s uint64) float64 {
	total := b.own[k]
	for _, d := range b.doors[k] {
		if d.serves&s == 0 {
			total += d.minutes
		}
	}
	return total
}

// units gives the units for the nodes in order, the doors where they are
// needed first.
func (b *bare) units(nodes []int) []int {
	var out []int
	done := uint64(0)
	for _, k := range nodes {
		for _, d := range b.doors[k] {
			if d.serves&done == 0 {
				out = append(out, d.unit)
			}
		}
		out = append(out, b.nodes[k])
		done |= 1 << k
	}
	return out
}
