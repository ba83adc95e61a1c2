package hear

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"telltale/evidence"
)

// toldCase is one story and what must be among what is heard of it.
type toldCase struct {
	action evidence.Action
	story  string
	want   []string
}

const (
	triplex = evidence.Triplex
	duplex  = evidence.Duplex
)

func hearAll(t *testing.T, cases []toldCase) {
	t.Helper()
	l := listener(t)
	for _, c := range cases {
		assert.Subset(t, heard(t, l, c.action, c.story), c.want, c.story)
	}
}

// "Left" and "right" are sides only where they are meant so.
func TestSides(t *testing.T) {
	hearAll(t, []toldCase{
		{duplex, "the left stuffing box leaks, right is dry", []string{"packing-leaks present [left]", "packing-leaks absent [right]"}},
		{duplex, "packing on right leaks, on left not", []string{"packing-leaks present [right]", "packing-leaks absent [left]"}},
		{triplex, "number 3 has a little hiss left on the discharge", []string{"hiss discharge-stroke present [3]"}},
		{triplex, "we left the pump running. Wiper on 2 leaks", []string{"wiper-leaks present [2]"}},
		{triplex, "the wiper leaks right after the start", []string{"wiper-leaks present"}},
		{duplex, "left: packing ok. Right: packing leaks, rod scored", []string{"packing-leaks absent [left]", "packing-leaks present [right]", "piston-rod-worn present [right]"}},
		{triplex, "on the far right the wiper leaks", []string{"wiper-leaks present [3]"}},
		{duplex, "left packing leaks more than right", []string{"packing-leaks present [left]"}},
	})
}

// The two ends of a cylinder that works both ways.
func TestEnds(t *testing.T) {
	hearAll(t, []toldCase{
		{duplex, "the head end of the left one hisses, crank end is quiet", []string{"hiss present [left head]", "hiss absent [left crank]"}},
		{duplex, "both ends of the left hiss", []string{"hiss present [left head left crank]"}},
		{duplex, "hiss on the head end of both cylinders", []string{"hiss present [left head right head]"}},
		{duplex, "right head end hisses, the three other chambers are quiet", []string{"hiss present [right head]", "hiss absent [left head left crank right crank]"}},
		{duplex, "#1 head end and #2 crank end hiss", []string{"hiss present [left head right crank]"}},
		{duplex, "the left one hisses at the head end but not at the crank end", []string{"hiss present [left head]", "hiss absent [left crank]"}},
		{duplex, "hiss on 1h and 2c", []string{"hiss present [left head right crank]"}},
		{duplex, "left front pot cover leaks. Spring under the back one is broken", []string{"spring-damage broken present [left crank]"}},
	})
}

// What a clause leaves out it carries on from the one before.
func TestCarriedOn(t *testing.T) {
	hearAll(t, []toldCase{
		{duplex, "the right gland is leaking. Left one drips as it should", []string{"packing-leaks absent [left]"}},
		{triplex, "wiper on 2 leaks, its neighbours aren't", []string{"wiper-leaks present [2]", "wiper-leaks absent [1 3]"}},
		{triplex, "number one knocks. Other cylinders no sound", []string{"knock-at-cylinder present [1]", "knock-at-cylinder absent [2 3]"}},
		{triplex, "there is a knock. It's number three", []string{"knock-at-cylinder present [3]"}},
		{triplex, "a wiper leaks badly, the middle one", []string{"wiper-leaks present [2]"}},
		{triplex, "wiper on 2 leaks, it knocks too. 1 and 3 are dry", []string{"wiper-leaks absent [1 3]"}},
		{duplex, "LH packing leaks. RH not inspected. Rod scored", []string{"piston-rod-worn present [left]"}},
		{triplex, "number three started knocking about two", []string{"knock-at-cylinder present [3]"}},
		{triplex, "wiper on n2 leaks", []string{"wiper-leaks present [2]"}},
		{triplex, "cyl 2: liner hot, wash nozzle blocked", []string{"liner-hot present [2]", "wash-weak present [2]"}},
		{triplex, "it knocks in the crosshead and runs hot, that's number two", []string{"noise-loudest-at-crosshead present [2]", "crosshead-hot present [2]"}},
		{duplex, "left crosshead is running hot, 190 on the gun. The right is 140", []string{"crosshead-hot present [left]", "crosshead-hot absent [right]"}},
		{triplex, "number 2 knocks. Wipers are dry", []string{"knock-at-cylinder present [2]", "wiper-leaks absent [1 2 3]"}},
		{triplex, "all wipers dry except number 2", []string{"wiper-leaks absent [1 3]", "wiper-leaks present [2]"}},
		{triplex, "all wipers leak but 2", []string{"wiper-leaks present [1 3]", "wiper-leaks absent [2]"}},
		{triplex, "wipers leak on all but 2", []string{"wiper-leaks present [1 3]", "wiper-leaks absent [2]"}},
		{triplex, "wiper leaks at 2 of 3", []string{"wiper-leaks present"}},
		{triplex, "CO2 and a wiper leaking", []string{"wiper-leaks present"}},
		{triplex, "both outside liners are hot", []string{"liner-hot present [1 3]"}},
		{triplex, "wiper of 1 or 2 leaks", []string{"wiper-leaks present [1 2] one of"}},
		{duplex, "left blows at the packing the rest is dry", []string{"packing-leaks present [left]", "packing-leaks absent [right]"}},
	})
}

// How far a denial reaches, and that nobody looked.
func TestReach(t *testing.T) {
	hearAll(t, []toldCase{
		{triplex, "neither knock nor hiss", []string{"knock absent", "hiss absent"}},
		{triplex, "dampener: not checked", []string{"dampener-gas unknown"}},
		{triplex, "the valve spring I did not see", []string{"spring-damage unknown"}},
		{triplex, "never heard a valve slam like this", []string{"valve-slam present"}},
		{triplex, "number three started knocking, 1 and 2 are not hot, no knock there", []string{"knock-at-cylinder present [3]"}},
		{triplex, "no knock or hiss", []string{"knock absent", "hiss absent"}},
		{triplex, "wiper on 2 leaks, never on 1 or 3", []string{"wiper-leaks present [2]", "wiper-leaks absent [1 3]"}},
		{triplex, "nobody checked the oil level or the oil pressure", []string{"oil-level unknown", "oil-pressure-low unknown"}},
		{triplex, "wiper on 2 leaks, didn't look at 1 and 3", []string{"wiper-leaks present [2]", "wiper-leaks unknown [1 3]"}},
		{triplex, "oil is good colour", []string{"oil-burnt absent"}},
		{triplex, "changed the wiper on 2, leaks same as before", []string{"wiper-leaks again present [2]"}},
	})
}

// A place that the pump has not is told, not passed over.
func TestNoSuchPlace(t *testing.T) {
	l := listener(t)
	for story, want := range map[string][]string{
		"wiper on 7 leaks":         {"on 7"},
		"cylinder 4 knocks":        {"cylinder 4"},
		"wiper on 2 leaks":         {},
		"put it on 5 minutes ago":  {},
		"CO2":                      {"CO2"},
		"it went on 4 hours":       {},
		"liner number 6.5 is worn": {},
	} {
		t.Run(story, func(t *testing.T) {
			assert.Subset(t, l.Hear(story, layout(triplex)).NotHeard, want)
			assert.Len(t, l.Hear(story, layout(triplex)).NotHeard, len(want))
		})
	}
}
