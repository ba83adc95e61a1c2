package evidence

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"telltale/evidence/source"
)

// readPump says whether the layout is known, without which no place can be
// read.
func (r *caseReader) readPump(n *source.Node) bool {
	ps := r.problems
	o := n.Object(ps, "the pump")
	p := &r.out.Pump
	p.Name = r.pumpName(o.Get("name"))
	action := o.Get
	if !r.partly {
		action = o.Need
	}
	p.Action = Action(action("action").Word(ps, "action", Actions()))
	if !r.standing {
		p.State = PumpState(o.Need("state").Word(ps, "state", PumpStates()))
	}
	p.Rotation = Rotation(o.Get("rotation").Word(ps, "rotation", Rotations()))
	if p.Rotation == "" {
		p.Rotation = RotationUnknown
	}
	p.Liner = r.quantity(o.Get("liner"), Length)
	p.Stroke = r.quantity(o.Get("stroke"), Length)
	p.PistonRod = r.quantity(o.Get("piston-rod"), Length)
	p.ConnectingRod = r.quantity(o.Get("connecting-rod"), Length)
	p.Speed = r.quantity(o.Get("speed"), StrokeRate)
	p.Discharge = r.quantity(o.Get("discharge"), Pressure)
	r.checkGeometry(o)
	cylinders, open, closed := o.Get("cylinders"), (*source.Node)(nil), (*source.Node)(nil)
	if !r.standing {
		open, closed = o.Get("open"), o.Get("closed-again")
	}
	o.Close()
	if p.Action == "" {
		return false
	}
	r.readCylinders(cylinders)
	p.Open = r.readOpen(open)
	p.ClosedAgain = r.readPlaced(closed, "opening", r.openingLevels())
	if len(p.Open) > 0 && p.State != Isolated {
		ps.Add(p.Open[0].Pos, source.Excludes, "the pump is %s but something is open; isolate the pump and say state: isolated, or close it", p.State)
	}
	return true
}

// greatestCrank is the greatest radius of a crank over its connecting rod that is
// taken for true: at 1 it cannot turn; real pumps have about 1/6 to 1/4 (common
// practice, no source). engine/pumping works out none beyond it either.
const greatestCrank = 0.9

// checkGeometry refuses a pump that cannot be built.
func (r *caseReader) checkGeometry(o *source.Object) {
	p := &r.out.Pump
	if p.Liner != nil && p.Liner.SI > mostDiameter {
		r.problems.Add(o.Get("liner").Pos, source.OutOfRange, "a liner of %s is too large for a mud pump; is the unit right?", p.Liner.Written)
	}
	if p.Stroke != nil && p.Stroke.SI > mostDistance {
		r.problems.Add(o.Get("stroke").Pos, source.OutOfRange, "a stroke of %s is too long for a mud pump; is the unit right?", p.Stroke.Written)
	}
	if p.PistonRod != nil && p.Liner != nil && p.PistonRod.SI >= p.Liner.SI {
		r.problems.Add(o.Get("piston-rod").Pos, source.DoesNotFit, "a piston rod of %s does not fit in a liner of %s", p.PistonRod.Written, p.Liner.Written)
	}
	if p.ConnectingRod != nil && p.Stroke != nil && p.Stroke.SI/2 > greatestCrank*p.ConnectingRod.SI {
		r.problems.Add(o.Get("connecting-rod").Pos, source.DoesNotFit, "a connecting rod of %s is too short for a stroke of %s", p.ConnectingRod, p.Stroke)
	}
}

// readOpen reads what is open. What had to be opened before it is open too,
// whether the case says so or not, and stands before it.
func (r *caseReader) readOpen(n *source.Node) []At {
	levels := r.openingLevels()
	var out []At
	seen := map[At]bool{}
	var add func(At)
	add = func(at At) {
		key := At{ID: at.ID, Place: at.Place}
		if seen[key] {
			return
		}
		seen[key] = true
		for _, need := range r.words.Openings[at.ID].Needs {
			for _, p := range r.out.Pump.Under(at.Place, levels[need]) {
				add(At{ID: need, Place: p, Pos: at.Pos})
			}
		}
		out = append(out, at)
	}
	for _, at := range r.readPlaced(n, "opening", levels) {
		add(at)
	}
	return out
}

func (r *caseReader) openingLevels() map[string]Level {
	levels := map[string]Level{}
	for id, word := range r.words.Openings {
		levels[id] = word.Level
	}
	return levels
}

// mostCylinderName is how many characters the name of a cylinder may have.
const mostCylinderName = 60

// mostPumpName is how many letters the name of a pump has at most.
const mostPumpName = 100

func (r *caseReader) pumpName(n *source.Node) string {
	name := n.String(r.problems, "the pump's name")
	if utf8.RuneCountInString(name) > mostPumpName {
		r.problems.Add(n.Pos, source.BadName, "%q is too long for a pump's name; expected %s", source.Clip(name), source.Want(fmt.Sprintf("%d letters at most", mostPumpName)))
	}
	return name
}

// readCylinders takes the crew's names for the cylinders, in order.
func (r *caseReader) readCylinders(n *source.Node) {
	p := &r.out.Pump
	p.Cylinders = DefaultCylinders(p.Action)
	if n == nil {
		return
	}
	given := n.Scalars(r.problems, "cylinders")
	if len(given) != len(p.Cylinders) {
		r.problems.Add(n.Pos, source.WrongForm, "a %s pump has %d cylinders; read %d names", p.Action, len(p.Cylinders), len(given))
		return
	}
	seen := map[string]bool{}
	reserved := r.reservedWords()
	for i, given := range given {
		name := strings.Join(strings.Fields(given.Text), " ")
		if seen[name] || reserved[name] {
			r.problems.Add(given.Pos, source.BadName, "%q cannot be a cylinder's name here; give each cylinder a name of its own that is not a word of the case file", source.Clip(given.Text))
		}
		if hidden := func(r rune) bool { return !unicode.IsGraphic(r) }; strings.ContainsFunc(name, hidden) || utf8.RuneCountInString(name) > mostCylinderName {
			r.problems.Add(given.Pos, source.BadName, "%q cannot be a cylinder's name: it must be told apart on paper; expected %s", source.Clip(given.Text), source.Want(fmt.Sprintf("%d letters at most, none of them invisible", mostCylinderName)))
		}
		seen[name] = true
		p.Cylinders[i] = name
	}
	for i, place := range p.Places(OfChamber) {
		if text := place.String(); place.End != "" && seen[text] {
			r.problems.Add(given[i/len(p.ends())].Pos, source.BadName, "the %s end of %q would be written %q, which is another cylinder's name; give one of the two another name", place.End, place.Cylinder, text)
		}
	}
}

// reservedWords are the words that a finding may use beside cylinder names.
func (r *caseReader) reservedWords() map[string]bool {
	out := map[string]bool{"present": true, "absent": true, "unknown": true, "all": true, "others": true, somewhere: true}
	for _, s := range r.words.Signs {
		for _, k := range s.Kinds {
			out[k] = true
		}
	}
	return out
}
