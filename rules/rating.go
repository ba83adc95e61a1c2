package rules

import (
	"sort"

	"telltale/evidence"
	"telltale/evidence/source"
)

// RunningValue names what the pump runs at: written in the case, or reckoned
// from it.
type RunningValue string

// The running values.
const (
	Discharge      RunningValue = "discharge"       // pressure, as the case gives it
	Speed          RunningValue = "speed"           // strokes, as the case gives them
	RodLoad        RunningValue = "rod-load"        // the greater of push and pull, from pressure and piston area
	HydraulicPower RunningValue = "hydraulic-power" // pressure times flow at 100 % efficiency
	ChargePressure RunningValue = "charge-pressure" // of the suction line, as the case gives it
)

var runningValues = map[RunningValue]evidence.Dimension{
	Discharge: evidence.Pressure, Speed: evidence.StrokeRate, RodLoad: evidence.Force,
	HydraulicPower: evidence.Power, ChargePressure: evidence.Pressure,
}

// Rating holds one figure of the pump, what it runs at or a setting, against a
// limit. Its title names the figure.
type Rating struct {
	Entry
	Of      RunningValue // "" if the figure is that of a limit
	OfLimit string       // the limit whose figure is compared, such as a setting
	Limit   string       // what it is held against
	Least   bool         // the limit is the least; else the most
	Doubt   float64      // half-width of what the figure may be off, as a share of it
	Sign    string       // "" if it is no evidence
	Kind    string
	When    *Condition
}

// parseRating reads `of: discharge` (or a limit), `most:` or `least:` a limit,
// and what it shows.
func (l *loader) parseRating(o *source.Object, e Entry) *Rating {
	r := &Rating{Entry: e}
	dimension := l.compared(o.Need("of"), r)
	most, least := o.Get("most"), o.Get("least")
	if (most == nil) == (least == nil) {
		l.problems.Add(e.Pos, source.Missing, "%s needs one of most: and least:, a limit", e.ID)
	}
	for _, n := range []*source.Node{most, least} {
		if n != nil && dimension != "" {
			r.Limit = l.limitOf(n, dimension)
		}
	}
	r.Least = least != nil
	if n := o.Get("doubt"); n != nil {
		r.Doubt = n.Number(&l.problems, "doubt", 0, 0.5)
	}
	if n := o.Get("shows"); n != nil {
		r.Sign, r.Kind = l.shown(n)
		if s := l.book.Signs.Get(r.Sign); s != nil && s.Level != evidence.OfPump {
			l.problems.Add(n.Pos, source.DoesNotFit, "a rating is of the pump, but %s belongs to a %s", s.ID, s.Level)
		}
	}
	r.When = l.readCondition(o.Get("when"))
	return r
}

// compared reads what a rating compares and gives its dimension, "" if it is
// not known.
func (l *loader) compared(n *source.Node, r *Rating) evidence.Dimension {
	if n == nil {
		return ""
	}
	names := append([]string{}, l.book.Limits.IDs()...)
	for v := range runningValues {
		names = append(names, string(v))
	}
	sort.Strings(names)
	name := n.Word(&l.problems, "figure of the pump", names)
	if limit := l.book.Limits.Get(name); limit != nil {
		r.OfLimit = name
		return limit.Dimension
	}
	r.Of = RunningValue(name)
	return runningValues[r.Of]
}

// LimitFor gives the figure of a limit for a pump: its manual's, else the
// book's; nil if neither has one.
func (b *Book) LimitFor(id string, k *evidence.Case) *evidence.Quantity {
	if q, ok := k.Manual[id]; ok {
		return &q
	}
	if limit := b.Limits.Get(id); limit != nil {
		return limit.Value
	}
	return nil
}
