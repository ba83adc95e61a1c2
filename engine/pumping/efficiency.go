package pumping

import (
	"errors"
	"fmt"
	"math"
)

// Reading is a number that lies within its half-width of the best value,
// every place there as likely: its standard uncertainty is the half-width over
// the root of 3 (JCGM 100:2008, 4.3.7).
type Reading struct{ Best, HalfWidth float64 }

func (r Reading) u() float64 { return r.HalfWidth / math.Sqrt(3) }

// Count is a run of strokes against a tank.
type Count struct {
	Volume         Reading // m3 into or out of the tank
	Strokes        Reading
	LinerHalfWidth float64 // m, of the bore, all liners alike; 0 leaves it out
}

// Efficiency is a volumetric efficiency and its standard uncertainty, both as
// fractions.
type Efficiency struct{ Value, U float64 }

// Loss is the fraction of the displacement that went missing; its standard
// uncertainty is U. Slip past valves and pistons, gas and the squeeze of the
// fluid are all in it.
func (e Efficiency) Loss() float64 { return 1 - e.Value }

// MoreThanDisplaced tells that the efficiency lies more than k standard
// uncertainties above 1, more than the pump can displace: then the liner, the
// stroke counter or the tank is not what it was taken for.
func (e Efficiency) MoreThanDisplaced(k float64) bool { return e.Value-k*e.U > 1 }

// VolumetricEfficiency is volume/(strokes times displacement). The relative
// standard uncertainties combine by squares (JCGM 100:2008, 5.1.6). The
// liner's counts twice in a triplex, and 4 D^2/(2 D^2 - d^2) times in a duplex.
// It errs on a half-width as large as the reading.
func (p Pump) VolumetricEfficiency(c Count) (Efficiency, error) {
	err := first(p.made(), c.Volume.check("volume"), c.Strokes.check("strokes"),
		Reading{p.geometry.Liner, c.LinerHalfWidth}.check("liner bore"))
	if err != nil {
		return Efficiency{}, err
	}
	value := c.Volume.Best / (c.Strokes.Best * p.Displacement())
	bore := Reading{p.geometry.Liner, c.LinerHalfWidth}.u() / p.geometry.Liner
	relative := math.Hypot(c.Volume.u()/c.Volume.Best, c.Strokes.u()/c.Strokes.Best)
	relative = math.Hypot(relative, p.boreSensitivity()*bore)
	return Efficiency{Value: value, U: value * relative}, nil
}

// check is the error of a reading that must be above zero throughout.
func (r Reading) check(name string) error {
	if err := first(positive(name, r.Best), notNegative("half-width of the "+name, r.HalfWidth)); err != nil {
		return err
	}
	if r.HalfWidth >= r.Best {
		return fmt.Errorf("half-width of the %s (%v) must be smaller than the %s (%v)", name, r.HalfWidth, name, r.Best)
	}
	return nil
}

// boreSensitivity is the relative change of displacement over that of the bore.
func (p Pump) boreSensitivity() float64 {
	ends := 1.0
	if p.doubleActing {
		ends = 2
	}
	return 2 * ends * p.Area(HeadEnd) / (p.Area(HeadEnd) + p.Area(CrankEnd))
}

// Signature is a measured loss beside the one expected of a pump with one
// chamber dead.
type Signature struct {
	Dead     Chamber // NoChamber: the ordinary loss and no more
	Loss     float64 // expected, fraction of the whole displacement
	Distance float64 // measured less expected loss, in standard uncertainties of the difference
	Share    float64 // of one such chamber that is missing beyond the ordinary loss: 1 if it is dead; 0 for NoChamber
	ShareU   float64 // standard uncertainty of Share
}

// Signatures compares the measured loss with an ordinary one, which worn parts
// all round would show (a fraction, with its half-width, by the caller's own
// judgement), and with that of a pump which has lost one chamber on top of it:
//
//	expected = 1 - (1 - ordinary)(1 - chamber/displacement)
//
// First comes NoChamber, then HeadEnd, then for a double-acting pump CrankEnd.
// It errs if neither the efficiency nor the ordinary loss has an uncertainty.
func (p Pump) Signatures(e Efficiency, ordinary Reading) ([]Signature, error) {
	err := first(p.made(), notNegative("efficiency", e.Value), notNegative("uncertainty of the efficiency", e.U),
		notNegative("ordinary loss", ordinary.Best), notNegative("half-width of the ordinary loss", ordinary.HalfWidth))
	if err != nil {
		return nil, err
	}
	if ordinary.Best+ordinary.HalfWidth >= 1 {
		return nil, fmt.Errorf("the ordinary loss must be a fraction below 1, not %v +-%v", ordinary.Best, ordinary.HalfWidth)
	}
	if e.U < smallest && ordinary.HalfWidth < smallest {
		return nil, errors.New("no uncertainty given to compare losses by")
	}
	chambers := []Chamber{NoChamber, HeadEnd}
	if p.doubleActing {
		chambers = append(chambers, CrankEnd)
	}
	signatures := make([]Signature, 0, len(chambers))
	for _, c := range chambers {
		signatures = append(signatures, p.signature(c, e, ordinary))
	}
	return signatures, nil
}

func (p Pump) signature(dead Chamber, e Efficiency, ordinary Reading) Signature {
	part := p.ChamberDisplacement(dead) / p.Displacement()
	s := Signature{Dead: dead, Loss: 1 - (1-ordinary.Best)*(1-part)}
	s.Distance = (e.Loss() - s.Loss) / math.Hypot(e.U, (1-part)*ordinary.u())
	if dead != NoChamber {
		left := (1 - ordinary.Best) * part
		s.Share = (e.Loss() - ordinary.Best) / left
		// By the loss 1/left, by the ordinary loss (efficiency)/((1-ordinary) left).
		s.ShareU = math.Hypot(e.U, e.Value/(1-ordinary.Best)*ordinary.u()) / left
	}
	return s
}
