package figures

import (
	"telltale/engine/align"
	"telltale/rules"
)

// shimSteps is the id of the rulebook's procedure for shims at a guide.
const shimSteps = "shims-at-a-guide"

// The remarks on shims that differ from end to end.
const (
	onePlaneEnds  advice = "one-plane-asks-for-different-ends"
	differentEnds advice = "different-ends-and-why"
)

// Procedure is how the shims of one guide are put in or taken out.
type Procedure struct {
	ID    string   `json:"id"`
	Title string   `json:"title"`
	Guide string   `json:"guide"` // lower, upper
	Tools []string `json:"tools"`
	Steps []Step   `json:"steps"`
}

// Step is one step of a procedure.
type Step struct {
	Number  int    `json:"number"`
	Title   string `json:"title"`
	Do      string `json:"do"`
	Signal  string `json:"signal,omitempty"`
	Caution string `json:"caution,omitempty"`
	// Writes is what there is room for: name, before, after.
	Writes string `json:"writes,omitempty"`
	// Picture is the rulebook's name of the drawing of how it is done.
	Picture rules.Picture `json:"picture,omitempty"`
	Basis   string        `json:"basis"`
}

// procedures gives the steps for each guide that is to be shimmed.
func (w *worker) procedures(c *Centring) {
	p := w.book.Procedures.Get(shimSteps)
	if p == nil {
		return
	}
	upper := []rules.Situation{rules.ShimsIn, rules.SameEnds}
	if holds := c.atLower(); holds != nil {
		c.Procedures = append(c.Procedures, w.stepsOf(p, rules.AtLower, holds))
		upper = append(upper, rules.AfterLower)
	}
	if c.UpperFix != nil && c.UpperFix.Pack != nil {
		c.Procedures = append(c.Procedures, w.stepsOf(p, rules.AtUpper, upper))
	}
}

// atLower gives what the steps at the lower guide are for; nil where it is not
// to be shimmed on these readings.
func (c *Centring) atLower() []rules.Situation {
	var out []rules.Situation
	switch c.Outcome {
	case align.EqualShims, align.TakeOut, EngineerFirst:
		out = append(out, rules.SameEnds)
	case align.UnequalShims:
		out = append(out, rules.DifferentEnds)
	default:
		return nil
	}
	switch lowers := c.Wanted.Front.Mean <= 0 && c.Wanted.Rear.Mean <= 0; {
	case lowers:
		out = append(out, rules.ShimsOut)
	case len(c.Packs) > 0 && c.Least != nil && !c.Says(align.OnePosition):
		out = append(out, rules.ShimsIn)
	default: // nothing on hand, or nothing that says how far it may go
		return nil
	}
	if c.AskEngineer {
		out = append(out, rules.AskFirst)
	}
	return out
}

func (w *worker) stepsOf(p *rules.Procedure, guide rules.Situation, holds []rules.Situation) Procedure {
	out := Procedure{ID: p.ID, Title: p.Title, Guide: string(guide), Tools: p.Tools, Steps: []Step{}}
	for i, s := range p.In(append(holds, guide)...) {
		out.Steps = append(out.Steps, Step{
			Number: i + 1, Title: w.book.Fill(w.k, s.Title), Do: w.book.Fill(w.k, s.Do), Signal: string(s.Signal), Caution: w.book.Fill(w.k, s.Caution), Writes: string(s.Writes), Picture: s.Picture, Basis: s.Basis,
		})
	}
	return out
}

// endByEnd gives the engineer what the readings would ask for at each end, and
// why that is followed or not.
func (w *worker) endByEnd(c *Centring) {
	if c.Wanted == nil || len(c.Planes) == 0 {
		return
	}
	h := c.Planes[0].Height
	if h != nil && h.Changes && c.Guide == nil {
		c.ByEnds = c.readByEnds()
	}
	switch {
	case c.ByEnds != nil:
		c.Notes = append(c.Notes, w.advice(onePlaneEnds))
	case !c.Wanted.Equal:
		c.Notes = append(c.Notes, w.advice(differentEnds))
	}
}

// readByEnds is the thickness under each end, read with the crosshead there;
// nil if one end was not read.
func (c *Centring) readByEnds() *Ends {
	var front, rear *Length
	for _, p := range c.Planes[0].Positions {
		switch p.Name {
		case align.Back:
			rear = p.Height
		case align.Front:
			front = p.Height
		}
	}
	if front == nil || rear == nil {
		return nil
	}
	return &Ends{Front: front.Times(-1), Rear: rear.Times(-1)}
}
