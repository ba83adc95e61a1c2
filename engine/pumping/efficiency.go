package pumping

import (
	"cmp"
	"errors"
	"fmt"
	"math"

	"telltale/engine/measure"
)

// VolumetricEfficiency is volume (m3)/(strokes times displacement), a fraction.
// The relative standard uncertainties combine by squares (JCGM 100:2008,
// 5.1.6). What is missing to 1 is the loss: slip past valves and pistons, gas
// and the squeeze of the fluid are all in it. It errs on a half-width as large
// as the reading.
func (p Pump) VolumetricEfficiency(volume, strokes measure.Value) (measure.Value, error) {
	if err := cmp.Or(checkCount("volume", volume), checkCount("strokes", strokes)); err != nil {
		return measure.Value{}, err
	}
	value := volume.Mean / (strokes.Mean * p.Displacement())
	return measure.Value{Mean: value, U: value * math.Hypot(volume.U/volume.Mean, strokes.U/strokes.Mean)}, nil
}

// checkCount is the error of a reading that must be above zero throughout.
func checkCount(name string, v measure.Value) error {
	if err := cmp.Or(positive(name, v.Mean), notNegative("half-width of the "+name, v.HalfWidth())); err != nil {
		return err
	}
	if v.HalfWidth() >= v.Mean {
		return fmt.Errorf("half-width of the %s (%v) must be smaller than the %s (%v)", name, v.HalfWidth(), name, v.Mean)
	}
	return nil
}

// Signature is a measured loss beside the one expected of a pump with one
// chamber dead.
type Signature struct {
	Dead     Chamber       // NoChamber: the ordinary loss and no more
	Loss     float64       // expected, fraction of the whole displacement
	Distance float64       // measured less expected loss, in standard uncertainties of the difference
	Share    measure.Value // of one such chamber that is missing beyond the ordinary loss: 1 if it is dead; 0 for NoChamber
}

// Signatures compares the loss of a volumetric efficiency with an ordinary one,
// which worn parts all round would show (a fraction, by the caller's own
// judgement), and with that of a pump which has lost one chamber on top of it:
//
//	expected = 1 - (1 - ordinary)(1 - chamber/displacement)
//
// First comes NoChamber, then HeadEnd, then for a double-acting pump CrankEnd.
// It errs if neither the efficiency nor the ordinary loss has an uncertainty.
func (p Pump) Signatures(efficiency, ordinary measure.Value) ([]Signature, error) {
	err := cmp.Or(notNegative("efficiency", efficiency.Mean), notNegative("uncertainty of the efficiency", efficiency.U),
		notNegative("ordinary loss", ordinary.Mean), notNegative("half-width of the ordinary loss", ordinary.HalfWidth()))
	if err != nil {
		return nil, err
	}
	if ordinary.Mean+ordinary.HalfWidth() >= 1 {
		return nil, fmt.Errorf("the ordinary loss must be a fraction below 1, not %v +-%v", ordinary.Mean, ordinary.HalfWidth())
	}
	if efficiency.U < smallest && ordinary.U < smallest {
		return nil, errors.New("no uncertainty given to compare losses by")
	}
	chambers := []Chamber{NoChamber, HeadEnd}
	if p.doubleActing {
		chambers = append(chambers, CrankEnd)
	}
	var out []Signature
	for _, c := range chambers {
		out = append(out, p.signature(c, efficiency, ordinary))
	}
	return out, nil
}

func (p Pump) signature(dead Chamber, efficiency, ordinary measure.Value) Signature {
	part, loss := p.ChamberDisplacement(dead)/p.Displacement(), 1-efficiency.Mean
	s := Signature{Dead: dead, Loss: 1 - (1-ordinary.Mean)*(1-part)}
	s.Distance = (loss - s.Loss) / math.Hypot(efficiency.U, (1-part)*ordinary.U)
	if dead != NoChamber {
		left := (1 - ordinary.Mean) * part
		// By the loss 1/left, by the ordinary loss (efficiency)/((1-ordinary) left).
		u := math.Hypot(efficiency.U, efficiency.Mean/(1-ordinary.Mean)*ordinary.U) / left
		s.Share = measure.Value{Mean: (loss - ordinary.Mean) / left, U: u}
	}
	return s
}
