package align

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"telltale/engine/measure"
)

// Answer is a yes or no that may not be known.
type Answer string

// The answers.
const (
	Unknown Answer = ""
	Yes     Answer = "yes"
	No      Answer = "no"
)

// Supports are where the shims under the guide go, in metres from the crosshead centre at
// mid stroke, positive toward the fluid end. Front is the one nearer the fluid end.
type Supports struct {
	Front, Rear float64
}

// Shim is one thickness in stock.
type Shim struct {
	Name    string
	Nominal float64        // metres
	Actual  *measure.Value // measured thickness; nil takes Nominal as exact
	Count   int            // pieces in stock; 0 is as many as wanted
}

// Input is everything that was measured. Only Planes is needed for the rod's height; what
// is missing is said in the notes of the result. Of planes and spots only what is read
// counts, not what is worked out.
type Input struct {
	Planes   []Plane
	Stroke   float64 // metres; 0 if not known
	Parted   Answer  // is the rod free of what it drives or is driven by at its far end?
	Seated   Answer  // does the crosshead sit on its lower guide at every corner?
	Supports *Supports
	Level    *measure.Value // slope of the guide against the bore line, metres per metre, rising toward the fluid end
	Opening  *measure.Value // nominal diameter of the opening
	Rod      *measure.Value // nominal diameter of the rod

	Upper       []Spot
	UpperLimits measure.Limits

	Stock     []Shim
	MaxPieces int // most pieces in one pack, 1 to 4; 0 is 4

	// Leave is the lift, in metres, under which the guide is left as it is; 0 leaves that
	// to the thinnest shim in stock. A rod aside by less is not called aside.
	Leave float64

	CentreGuide bool // a centre guide stands between outer ones

	K     float64 // a figure counts as real beyond K of its uncertainties; 0 is 2
	Guard float64 // guard band at limits, in uncertainties; 0 is 1.645 (95 % from one side)
}

// Without a choice of the caller: figures count as real beyond two uncertainties (about
// 95 %, GUM 6.2), and limits are kept with 95 % from one side.
const (
	usualK     = 2
	usualGuard = 1.645
)

// Bounds on what is taken for a measurement at a pump, in metres.
const (
	farthest = 100.0 // of a place along the rod
	widest   = 1.0   // of a clearance or a shim
	finest   = 1e-12 // uncertainty of a clearance
	closest  = 1e-3  // between the supports, and the least stroke
)

// station is s with the crosshead there; in fractions of a stroke if the stroke is not known.
func (in *Input) station(at string) float64 {
	stroke := in.Stroke
	if stroke == 0 {
		stroke = 1
	}
	return stroke / 2 * float64(slices.Index(stations, at)-1)
}

func (in *Input) check() error {
	switch {
	case len(in.Planes) == 0:
		return errors.New("no clearances round the rod")
	case !(in.K > 0 && in.K <= 100) || !(in.Guard > 0 && in.Guard <= 100):
		return errors.New("the factors for doubt must be above 0 and no more than 100")
	case in.Stroke != 0 && !(in.Stroke >= closest && in.Stroke <= farthest):
		return fmt.Errorf("stroke %g m", in.Stroke)
	case !(in.Leave >= 0 && in.Leave <= widest):
		return fmt.Errorf("lift to leave of %g m", in.Leave)
	}
	for i := range in.Planes {
		if err := in.Planes[i].check(); err != nil {
			return fmt.Errorf("plane %d: %w", i+1, err)
		}
	}
	return errors.Join(in.checkGuide(), in.checkUpper(), in.checkNominal(), checkStock(in.Stock, in.MaxPieces))
}

func (p *Plane) check() error {
	if err := checkPlace(p.At); err != nil {
		return err
	}
	if !(p.AtU >= 0 && p.AtU <= farthest) {
		return fmt.Errorf("distance along the rod with uncertainty %g m", p.AtU)
	}
	last := -1
	for _, r := range p.Positions {
		at := slices.Index(stations, r.Name)
		if at <= last {
			return fmt.Errorf("a reading with the crosshead at the %q: give back, middle and front in turn", r.Name)
		}
		last = at
		for _, v := range r.sides() {
			if err := checkValue("clearance", *v, 0, widest); err != nil {
				return err
			}
			if v.U < finest {
				return errors.New("a clearance needs an uncertainty: what does the gauge resolve?")
			}
		}
	}
	return nil
}

// sides are the clearances that were taken.
func (p *Position) sides() []*measure.Value {
	return slices.DeleteFunc([]*measure.Value{p.Top, p.Bottom, p.Left, p.Right}, func(v *measure.Value) bool { return v == nil })
}

func checkPlace(x *float64) error {
	if x != nil && !(math.Abs(*x) <= farthest) {
		return fmt.Errorf("distance %g m along the rod", *x)
	}
	return nil
}

// checkValue refuses what is not a number, and what is not from least to most.
func checkValue(what string, v measure.Value, least, most float64) error {
	if err := v.Check(); err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	if v.Mean < least || v.Mean > most || v.U > most {
		return fmt.Errorf("%s %g with uncertainty %g", what, v.Mean, v.U)
	}
	return nil
}

func (in *Input) checkGuide() error {
	if s := in.Supports; s != nil {
		if err := errors.Join(checkPlace(&s.Front), checkPlace(&s.Rear)); err != nil {
			return err
		}
		if s.Front-s.Rear < closest {
			return errors.New("the front support must be nearer the fluid end than the rear one")
		}
	}
	if in.Level == nil {
		return nil
	}
	if in.Level.U < finest {
		return errors.New("a level reading needs an uncertainty")
	}
	return checkValue("level reading", *in.Level, -1, 1)
}

func (in *Input) checkUpper() error {
	for _, s := range in.Upper {
		if err := errors.Join(checkPlace(s.Along), checkValue("clearance", s.Length, 0, widest)); err != nil {
			return fmt.Errorf("upper guide, %s: %w", s.Name, err)
		}
	}
	return in.UpperLimits.Check()
}

func (in *Input) checkNominal() error {
	for _, v := range []*measure.Value{in.Opening, in.Rod} {
		if v == nil {
			continue
		}
		if err := checkValue("nominal diameter", *v, finest, farthest); err != nil {
			return err
		}
	}
	if in.Opening != nil && in.Rod != nil && in.Opening.Mean <= in.Rod.Mean {
		return errors.New("the rod is as large as its opening")
	}
	return nil
}
