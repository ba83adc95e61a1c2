package align

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"telltale/engine/measure"
)

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

// Centre works out where the rod lies and what to do about it. Input that cannot be right
// (a clearance below 0, a reading without uncertainty, supports in the wrong order) gives
// an error; readings that are possible but do not support a correction give the outcome
// Withheld and say why.
func Centre(in Input) (Centring, error) {
	if in.K == 0 {
		in.K = usualK
	}
	if in.Guard == 0 {
		in.Guard = usualGuard
	}
	if in.MaxPieces == 0 {
		in.MaxPieces = mostPieces
	}
	if err := in.check(); err != nil {
		return Centring{}, err
	}
	j := job{in: in}
	for _, step := range []func() error{j.readPlanes, j.tellApart, j.correct, j.forecast} {
		if err := step(); err != nil {
			return Centring{}, err
		}
	}
	return j.out, nil
}

// job is one run of Centre.
type job struct {
	in       Input
	out      Centring
	withheld bool
}

// place is where a note applies, for note.
type place struct {
	plane    int
	position Position
}

var nowhere = place{-1, -1}

// note says a reason once for each place.
func (j *job) note(r Reason, at place) {
	n := Note{Reason: r, Plane: at.plane, Position: at.position}
	if !slices.Contains(j.out.Notes, n) {
		j.out.Notes = append(j.out.Notes, n)
	}
}

func (j *job) noteSpot(r Reason, spot string) {
	j.out.Notes = append(j.out.Notes, Note{Reason: r, Plane: -1, Position: -1, Spot: spot})
}

func (j *job) withhold(r Reason, at place) {
	j.note(r, at)
	j.withheld = true
}

func (j *job) ask(r Reason, at place) {
	j.note(r, at)
	j.out.AskEngineer = true
}

// stations are s at each Position; in fractions of a stroke if the stroke is not known.
func (in *Input) stations() [3]float64 {
	stroke := in.Stroke
	if stroke == 0 {
		stroke = 1
	}
	return [3]float64{-stroke / 2, 0, stroke / 2}
}

func (in *Input) check() error {
	if len(in.Planes) == 0 {
		return errors.New("no clearances round the rod")
	}
	if !(in.K > 0 && in.K <= 100) || !(in.Guard > 0 && in.Guard <= 100) {
		return errors.New("the factors for doubt must be above 0 and no more than 100")
	}
	if in.Stroke != 0 && !(in.Stroke >= closest && in.Stroke <= farthest) {
		return fmt.Errorf("stroke %g m", in.Stroke)
	}
	if !(in.Leave >= 0 && in.Leave <= widest) {
		return fmt.Errorf("lift to leave of %g m", in.Leave)
	}
	for i, p := range in.Planes {
		if err := p.check(); err != nil {
			return fmt.Errorf("plane %d: %w", i+1, err)
		}
	}
	return errors.Join(in.checkGuide(), in.checkUpper(), in.checkNominal(), checkStock(in.Stock, in.MaxPieces))
}

func (p *Plane) check() error {
	if err := checkPlace(p.At); err != nil {
		return err
	}
	for _, r := range p.Readings {
		if r == nil {
			continue
		}
		for _, v := range []*measure.Value{r.Top, r.Bottom, r.Left, r.Right} {
			if v == nil {
				continue
			}
			if err := checkClearance(*v); err != nil {
				return err
			}
			if v.U < finest {
				return errors.New("a clearance needs an uncertainty: what does the gauge resolve?")
			}
		}
	}
	return nil
}

func checkPlace(x *float64) error {
	if x != nil && !(math.Abs(*x) <= farthest) {
		return fmt.Errorf("distance %g m along the rod", *x)
	}
	return nil
}

func checkClearance(v measure.Value) error {
	if err := v.Check(); err != nil {
		return err
	}
	if v.Mean < 0 || v.Mean > widest || v.U > widest {
		return fmt.Errorf("clearance %g m", v.Mean)
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
	if err := in.Level.Check(); err != nil {
		return fmt.Errorf("level: %w", err)
	}
	if math.Abs(in.Level.Mean) > 1 || in.Level.U > 1 || in.Level.U < finest {
		return fmt.Errorf("level reading %g with uncertainty %g", in.Level.Mean, in.Level.U)
	}
	return nil
}

func (in *Input) checkUpper() error {
	for _, s := range in.Upper {
		if err := errors.Join(checkPlace(s.Along), checkClearance(s.Clearance)); err != nil {
			return fmt.Errorf("upper guide, %s: %w", s.Name, err)
		}
	}
	if err := in.UpperLimits.Check(); err != nil {
		return fmt.Errorf("upper guide clearance: %w", err)
	}
	return nil
}

func (in *Input) checkNominal() error {
	for _, v := range []*measure.Value{in.Opening, in.Rod} {
		if v == nil {
			continue
		}
		if err := v.Check(); err != nil {
			return fmt.Errorf("nominal diameter: %w", err)
		}
		if v.Mean <= 0 || v.Mean > farthest || v.U > farthest {
			return fmt.Errorf("nominal diameter %g m", v.Mean)
		}
	}
	if in.Opening != nil && in.Rod != nil && in.Opening.Mean <= in.Rod.Mean {
		return errors.New("the rod is as large as its opening")
	}
	return nil
}
