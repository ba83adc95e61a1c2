package figures

import (
	"math"

	"telltale/engine/pumping"
	"telltale/evidence"
	"telltale/rules"
)

// Turn is the force of a crosshead on its guides over one turn of its crank by
// the fluid alone, N, down positive, at equal angles from the head-end dead
// centre to the same again. The crosshead's own weight is not in it.
type Turn struct {
	Forward, Reverse []float64
}

// angles is how many angles a turn is worked out at, the last being the first
// again.
const angles = 73

// GuideTurn works out the load of the guides for both rotations. It is nil if
// the case does not give the liner, stroke and discharge pressure, and of a
// duplex the piston rod.
func GuideTurn(book *rules.Book, k *evidence.Case) (*Turn, error) {
	w := worker{book: book, k: k, out: &Figures{}}
	pump, _, err := w.geometry()
	if err != nil || pump == nil || k.Pump.Discharge == nil {
		return nil, err
	}
	var out Turn
	for i := range angles {
		angle := 2 * math.Pi * float64(i) / (angles - 1)
		out.Forward = append(out.Forward, pump.GuideForce(k.Pump.Discharge.SI, pumping.Forward, angle))
		out.Reverse = append(out.Reverse, pump.GuideForce(k.Pump.Discharge.SI, pumping.Reverse, angle))
	}
	return &out, nil
}
