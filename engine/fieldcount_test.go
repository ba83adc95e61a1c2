package engine

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/stat/distuv"

	"telltale/evidence"
	"telltale/rules"
)

// counted is one group of a field count, and what the book holds of it.
type counted struct {
	group    string
	findings int
	groups   []string // of the book
	causes   []string // of the book, in none of the groups
	outside  string   // why the book's share lies outside the limits of the count; "" if it does not
}

// Source: Volve field, daily drilling reports as released to the public: three offshore
// rigs with electric triplex pumps and liner spray, 1,069 reports, 26 findings where pumps failed
// their job, own count. It holds only what stopped the work, from one operation: no
// mechanical rig, no duplex, no land solids control. So it checks coverage, not the figures.
const fieldFindings = 26

var fieldCount = []counted{
	{group: "valves and seats", findings: 5, groups: []string{"valves"}},
	{group: "liner wash", findings: 5, causes: []string{"wash-supply-failed", "wash-nozzle-blocked"},
		outside: "raised to what 26 calls weigh beside the judgement of about 100; nine of the 26 come from one fortnight"},
	{group: "electrics and control", findings: 4, causes: []string{"drive-tripped", "control-lost", "driver-weak"}},
	{group: "suction side", findings: 4, groups: []string{"suction"}},
	{group: "pistons and liners", findings: 3, causes: []string{
		"piston-worn", "piston-misfitted", "piston-rod-seal-leaking", "wrong-rubber", "run-dry", "liner-oversize", "liner-scored", "sandy-mud"}},
	{group: "seals, covers, modules", findings: 3, causes: []string{
		"liner-seal-leaking", "cover-seal-blown", "valve-cover-backing-off", "module-washed", "module-cracked"}},
	{group: "relief valve", findings: 1, causes: []string{"relief-valve-leaking", "relief-set-wrong"}},
	{group: "dampener", findings: 1, causes: []string{"dampener-charge-wrong", "dampener-bladder-burst"}},
	{group: "running gear and alignment", findings: 0, groups: []string{"alignment", "running-gear"},
		outside: "wear that rarely stops the work is not in such reports; it is what this book is asked about most"},
}

// Each group of the count has causes in the book, and the book's share of it lies
// inside the 95 % limits of the count (Clopper and Pearson 1934) or its reason is given.
func TestTheBookCoversAFieldCount(t *testing.T) {
	book := builtIn(t)
	total := 0
	for _, c := range fieldCount {
		total += c.findings
	}
	assert.Equal(t, fieldFindings, total)
	pump := evidence.Pump{Layout: evidence.Layout{Action: evidence.Triplex}}
	share := func(in func(*rules.Cause) bool) float64 {
		sum := 0.0
		for _, c := range book.Causes.List {
			if c.Group != "not-the-pump" && c.When.HoldsForPump(&pump) && in(c) {
				sum += c.Common
			}
		}
		return sum
	}
	all := share(func(*rules.Cause) bool { return true })
	for _, c := range fieldCount {
		for _, id := range c.causes {
			assert.NotNil(t, book.Causes.Get(id), id)
		}
		got := share(func(cause *rules.Cause) bool {
			return slices.Contains(c.groups, cause.Group) || slices.Contains(c.causes, cause.ID)
		}) / all
		k, n := float64(c.findings), float64(fieldFindings)
		low, high := 0.0, distuv.Beta{Alpha: k + 1, Beta: n - k}.Quantile(0.975)
		if k > 0 {
			low = distuv.Beta{Alpha: k, Beta: n - k + 1}.Quantile(0.025)
		}
		assert.Positive(t, got, "%s: no cause", c.group)
		inside := got >= low && got <= high
		t.Logf("%-28s %2d of 26, %4.1f to %4.1f %%; the book %4.1f %%", c.group, c.findings, 100*low, 100*high, 100*got)
		assert.Equal(t, c.outside == "", inside, "%s: %.1f %% beside %.1f to %.1f %% (%s)", c.group, 100*got, 100*low, 100*high, c.outside)
	}
}
