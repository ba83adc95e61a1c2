package align_test

import (
	"fmt"

	"telltale/engine/align"
	"telltale/engine/measure"
)

// A rod stands 24 thou nearer the bottom of its opening, alike at the back, the
// middle and the front of the stroke. Half of the difference goes under both
// ends of the guide, and as much comes off the clearance over the crosshead.
func ExampleCentre() {
	const thou = 25.4e-6
	read := func(n float64) *measure.Length {
		v := measure.FromStep(n*thou, thou)
		return &v
	}
	plane := align.Plane{}
	for _, at := range []string{align.Back, align.Middle, align.Front} {
		plane.Positions = append(plane.Positions, align.Position{Name: at, Top: read(137), Bottom: read(113)})
	}
	least, most := 15*thou, 25*thou
	result, err := align.Centre(align.Input{
		Planes: []align.Plane{plane}, Parted: align.Yes, Seated: align.Yes,
		Upper:       []align.Spot{{Name: "rear", Length: *read(33)}, {Name: "front", Length: *read(33)}},
		UpperLimits: measure.Limits{Least: &least, Most: &most},
		Stock:       []align.Shim{{Name: "10 thou", Nominal: 10 * thou}, {Name: "2 thou", Nominal: 2 * thou}},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s: %.0f thou wanted\n", result.Outcome, result.Wanted.Front.Mean/thou)
	for _, p := range result.Packs {
		fmt.Println(p.Where, p.Pieces)
	}
	for _, s := range result.Upper {
		fmt.Printf("%s: %.0f thou now (%s), %.0f after (%s)\n", s.Name, s.Mean/thou, s.Stand, s.After.Mean/thou, s.AfterStand)
	}
	// Output:
	// equal-shims: 12 thou wanted
	// under the lower guide, each end [10 thou 2 thou]
	// rear: 33 thou now (over), 21 after (inside)
	// front: 33 thou now (over), 21 after (inside)
}
