package figures

import (
	"slices"

	"telltale/engine/align"
	"telltale/engine/measure"
	"telltale/evidence"
	"telltale/rules"
)

// What matters more than centring a rod comes before it: a crosshead that is
// too tight now, a clearance that was not measured or would be in doubt, wear
// that differs along the guide, a rod for the engineer.

// Chances from which a clearance counts as too tight, or as perhaps so: the
// rest of 95 in 100.
const (
	ratherTight  = 0.5
	perhapsTight = 0.05
)

// The outcomes that judge gives besides those of engine/align.
const (
	TightNow      align.Outcome = "tight-now"
	DoubtNow      align.Outcome = "doubt-now"
	UnevenNow     align.Outcome = "uneven-now"
	SlackNow      align.Outcome = "slack-now"
	InsideNow     align.Outcome = "inside-now"
	AskFigure     align.Outcome = "ask-pump-figure"
	UpperOnly     align.Outcome = "upper-shims-only"
	MeasureUpper  align.Outcome = "measure-upper-first"
	DoubtAfter    align.Outcome = "doubt-after"
	EngineerFirst align.Outcome = "ask-engineer-first"
)

// moveByHand is the caution for whoever moves the crosshead to
// measure or to shim.
const moveByHand advice = "moving-the-crosshead"

// practiceOnly is the remark that the limits over the crosshead are
// not this pump's own.
const practiceOnly advice = "practice-limit-only"

// judge puts the graver outcome in place of the one that the readings of the
// rod alone give, and says what its limits are worth.
func (w *worker) judge(c *Centring) {
	w.outweigh(c)
	if c.Outcome != AskFigure && c.byPractice() {
		c.Notes = append(c.Notes, w.advice(practiceOnly))
	}
	w.endByEnd(c)
	w.procedures(c)
}

func (w *worker) outweigh(c *Centring) {
	graver := c.graver()
	if c.Outcome == align.TakeOut {
		c.UpperFix = nil // first see whether there are shims to take out
	}
	if graver == "" {
		return
	}
	w.decide(c, graver)
	switch graver {
	case TightNow, DoubtNow, UnevenNow, AskFigure:
		c.withholdPacks()
		c.Wanted = nil // no thickness stands beside the word not to lift
		c.Notes = slices.DeleteFunc(c.Notes, func(n Note) bool { return slices.Contains(ofTheLift, align.Reason(n.Code)) })
		c.AskEngineer = c.AskEngineer || graver == UnevenNow
	case MeasureUpper:
		c.withholdPacks()
	case DoubtAfter:
		c.Packs, c.UpperFix = []Pack{}, nil
	}
}

// ofTheLift are the remarks that only make sense where a guide is lifted.
var ofTheLift = []align.Reason{
	align.CentreGuideFirst, align.ShimsToTakeOut, align.NoPack, align.PackOff, align.RodWouldTouch,
	align.UpperUnder, align.UpperOver, align.UpperInDoubt, align.UpperSpread, align.UpperNoPack,
}

// byPractice says whether a place is under the least of common practice, which
// is not this pump's own.
func (c *Centring) byPractice() bool {
	return slices.ContainsFunc(c.Upper, func(u UpperSpot) bool { return u.Stand == underPractice || u.AfterStand == underPractice })
}

func (c *Centring) graver() align.Outcome {
	switch under := c.mostUnder(func(u *UpperSpot) float64 { return u.Under }); {
	case c.tight() >= ratherTight:
		return TightNow
	case under >= ratherTight:
		return AskFigure
	case under >= perhapsTight:
		return DoubtNow
	case c.uneven():
		return UnevenNow
	case len(c.Planes) == 0:
		return c.upperAlone()
	}
	raising := len(c.Packs) > 0 || c.Wanted != nil && (c.Wanted.Front.Mean > 0 || c.Wanted.Rear.Mean > 0)
	switch {
	case c.Outcome == align.StopAndAsk || c.Outcome == align.Withheld:
		return ""
	case c.Outcome == align.NoneNeeded && c.UpperFix != nil:
		return UpperOnly
	case raising && len(c.Upper) == 0:
		return MeasureUpper
	case raising && c.mostUnder(func(u *UpperSpot) float64 { return u.AfterUnder }) >= perhapsTight:
		return DoubtAfter
	case c.AskEngineer && c.Outcome == align.EqualShims:
		return EngineerFirst
	}
	return ""
}

// tight is the chance that the crosshead is too tight as it stands, whatever
// figure this pump has.
func (c *Centring) tight() float64 {
	if c.LeastAnywhere == nil {
		return c.mostUnder(func(u *UpperSpot) float64 { return u.Under })
	}
	return c.mostUnder(func(u *UpperSpot) float64 { return u.Below(*c.LeastAnywhere) })
}

// underPractice is the stand of a clearance which is under the least of common
// practice, while this pump's own may allow it.
const underPractice = "under common practice"

// soften gives the stands under the least as what they are while this pump's
// figure is not known.
func (c *Centring) soften() {
	word := func(l Length, stand string) string {
		under := stand == string(measure.Under) || stand == string(measure.DoubtUnder)
		if under && c.LeastAnywhere != nil && l.Below(*c.LeastAnywhere) < ratherTight {
			return underPractice
		}
		return stand
	}
	for i := range c.Upper {
		u := &c.Upper[i]
		u.Stand = word(u.Length, u.Stand)
		if u.After != nil {
			u.AfterStand = word(*u.After, u.AfterStand)
		}
	}
}

func (c *Centring) mostUnder(chance func(*UpperSpot) float64) float64 {
	most := 0.0
	for i := range c.Upper {
		most = max(most, chance(&c.Upper[i]))
	}
	return most
}

// uneven says whether the clearance differs along the guide by more than the
// whole band between its limits: no one thickness brings it inside.
func (c *Centring) uneven() bool {
	if c.Least == nil || c.Most == nil || len(c.Upper) < 2 {
		return false
	}
	var now []Length
	for _, u := range c.Upper {
		now = append(now, u.Length)
	}
	return measure.Spread(now...).Mean > *c.Most-*c.Least
}

func (c *Centring) upperAlone() align.Outcome {
	for _, u := range c.Upper {
		if 1-u.Inside-u.Under >= ratherTight {
			return SlackNow
		}
	}
	return InsideNow
}

// withholdPacks takes back what a lift would need and do.
func (c *Centring) withholdPacks() {
	c.Packs, c.UpperFix, c.Short = []Pack{}, nil, nil
	for i := range c.Upper {
		u := &c.Upper[i]
		u.After, u.AfterStand, u.AfterInside, u.AfterUnder, u.AfterBoth = nil, "", 0, 0, nil
	}
	for i := range c.Planes {
		c.Planes[i].Rests = nil
		for j := range c.Planes[i].Positions {
			c.Planes[i].Positions[j].After = nil
		}
	}
}

// leave is the lift under which a guide is left as it is: where the rulebook
// starts to call a rod low, by the manual's limit if there is one.
func (w *worker) leave() float64 {
	for _, s := range w.book.Thresholds.List {
		if s.Of == rules.RodLowBy && s.Above != nil {
			if at, ok := s.Above.In(w.book, w.k); ok {
				return at
			}
		}
	}
	return 0
}

// metric says whether the crew reads in millimetres.
func metric(m *evidence.Method) bool { return m.Resolution.Metric() }
