package evidence

import "strings"

// Action is how the pump works; it fixes how many chambers a cylinder has.
type Action string

// The two kinds of pump.
const (
	Triplex Action = "triplex-single-acting"
	Duplex  Action = "duplex-double-acting"
)

// Actions lists both kinds of pump by name.
func Actions() []string { return []string{string(Triplex), string(Duplex)} }

// Level says to what a cause, sign, check or opening belongs.
type Level string

// The levels. A chamber is one end of a double-acting cylinder; on a
// single-acting pump it is the cylinder itself.
const (
	OfPump     Level = "pump"
	OfCylinder Level = "cylinder"
	OfChamber  Level = "chamber"
)

// Levels lists the levels by name.
func Levels() []string { return []string{string(OfPump), string(OfCylinder), string(OfChamber)} }

// The ends of a double-acting cylinder.
const (
	HeadEnd  = "head"
	CrankEnd = "crank"
)

// Place is somewhere on the pump: the whole pump (zero value), a cylinder, or
// one end of a double-acting cylinder.
type Place struct {
	Cylinder string `json:"cylinder"`
	End      string `json:"end"`
}

// String gives "2", "left", "left head"; "" for the whole pump.
func (p Place) String() string {
	return strings.TrimSpace(p.Cylinder + " " + p.End)
}

// Of lifts a place to this level, if it lies below it.
func (l Level) Of(p Place) Place {
	switch l {
	case OfPump:
		return Place{}
	case OfCylinder:
		return Place{Cylinder: p.Cylinder}
	}
	return p
}

// Touches says whether one of the two places contains the other: what is at
// one of them acts on the other.
func (p Place) Touches(q Place) bool {
	if p.Cylinder == "" || q.Cylinder == "" {
		return true
	}
	if p.Cylinder != q.Cylinder {
		return false
	}
	return p.End == "" || q.End == "" || p.End == q.End
}

// Layout is the pump's cylinders and what ends they have.
type Layout struct {
	Action    Action
	Cylinders []string
}

// DefaultCylinders is what the cylinders are called if the case does not say.
func DefaultCylinders(a Action) []string {
	if a == Duplex {
		return []string{"left", "right"}
	}
	return []string{"1", "2", "3"}
}

func (l Layout) ends() []string {
	if l.Action == Duplex {
		return []string{HeadEnd, CrankEnd}
	}
	return []string{""}
}

// Places gives every place of a level, in the order of the cylinders.
func (l Layout) Places(level Level) []Place {
	if level == OfPump {
		return []Place{{}}
	}
	var out []Place
	for _, c := range l.Cylinders {
		if level == OfCylinder {
			out = append(out, Place{Cylinder: c})
			continue
		}
		for _, e := range l.ends() {
			out = append(out, Place{Cylinder: c, End: e})
		}
	}
	return out
}

// Under gives the places of a level that lie inside p, or that contain it
// when p is smaller than the level.
func (l Layout) Under(p Place, level Level) []Place {
	var out []Place
	for _, q := range l.Places(level) {
		if p.Touches(q) {
			out = append(out, q)
		}
	}
	return out
}

// Find reads a place as the crew writes it: a cylinder, or a cylinder and an
// end ("left head"). names lists what could have been written.
func (l Layout) Find(text string) (p Place, names []string, ok bool) {
	wanted := strings.Join(strings.Fields(text), " ")
	for _, level := range []Level{OfCylinder, OfChamber} {
		for _, q := range l.Places(level) {
			if q.String() == wanted {
				return q, nil, true
			}
			if level == OfCylinder || q.End != "" {
				names = append(names, q.String())
			}
		}
	}
	return Place{}, names, false
}
