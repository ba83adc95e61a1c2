package evidence

import "telltale/evidence/source"

// Taken says when something was found or measured that can only be had with
// covers off.
type Taken string

// The two times. While running: beside moving parts.
const (
	AtLastStop   Taken = "at-last-stop"
	WhileRunning Taken = "while-running"
)

// TakenTimes lists the times by name.
func TakenTimes() []string { return []string{string(AtLastStop), string(WhileRunning)} }

// Others stands for every name that is not named itself.
const Others = "others"

// TakenAt gives when the finding, check or block of readings of this name was
// taken, "" if the case does not say.
func (c *Case) TakenAt(name string) Taken {
	if when, named := c.Taken[name]; named {
		return when
	}
	return c.Taken[Others]
}

// readTaken reads `taken: at-last-stop` for all, or by name
// `taken: {at-last-stop: [a, b], while-running: others}`.
func (r *caseReader) readTaken(n *source.Node) {
	if n == nil {
		return
	}
	r.out.Taken = map[string]Taken{}
	if n.Kind != source.Mapping {
		if word := n.Word(r.problems, "time", TakenTimes()); word != "" {
			r.out.Taken[Others] = Taken(word)
		}
		return
	}
	o := n.Object(r.problems, "taken")
	for _, when := range TakenTimes() {
		for _, item := range o.Get(when).Scalars(r.problems, when) {
			r.readTakenName(item, Taken(when))
		}
	}
	o.Close()
}

func (r *caseReader) readTakenName(item *source.Node, when Taken) {
	if !r.words.CoversOff[item.Text] && item.Text != Others {
		r.problems.Add(item.Pos, source.UnknownName, "%q is nothing that is taken with covers off%s", source.Clip(item.Text), source.Expected(item.Text, append(names(r.words.CoversOff), Others)))
		return
	}
	if old, twice := r.out.Taken[item.Text]; twice && old != when {
		r.problems.Add(item.Pos, source.Excludes, "%s was taken %s here and %s before; keep one", item.Text, when, old)
	}
	r.out.Taken[item.Text] = when
}

// Blocks names the blocks of readings that were given, as in the case file.
func (m *Measured) Blocks() []string {
	var out []string
	for _, b := range m.blocks() {
		if b.given {
			out = append(out, b.name)
		}
	}
	return out
}

// Without gives the readings without some blocks.
func (m Measured) Without(names map[string]bool) Measured {
	for _, b := range m.blocks() {
		if names[b.name] {
			b.drop()
		}
	}
	return m
}

// PlacesOf gives the places at which a block of readings was taken; none for a
// block of the whole pump.
func (m *Measured) PlacesOf(block string) []Place {
	for _, b := range m.blocks() {
		if b.name == block {
			return b.places
		}
	}
	return nil
}

// block is one block of readings of a case file.
type block struct {
	name   string
	given  bool
	places []Place
	drop   func()
}

func (m *Measured) blocks() []block {
	return []block{
		listed("rod-in-opening", &m.RodInOpening, func(r RodInOpening) Place { return r.Place }),
		listed("upper-guide", &m.UpperGuide, placeOfPoints),
		listed("rod-face-gap", &m.RodFaceGap, placeOfPoints),
		{name: "fluid-end-gap", given: m.FluidEndGap != nil, drop: func() { m.FluidEndGap = nil }},
		listed("liner-bore", &m.LinerBore, placeOfSurvey),
		listed("piston-rod", &m.PistonRod, placeOfSurvey),
		listed("extension-rod", &m.ExtensionRod, placeOfSurvey),
		{name: "tank-test", given: m.TankTest != nil, drop: func() { m.TankTest = nil }},
		{name: "before-and-now", given: m.BeforeAndNow != nil, drop: func() { m.BeforeAndNow = nil }},
	}
}

// listed is a block that has readings by places.
func listed[T any](name string, of *[]T, place func(T) Place) block {
	b := block{name: name, given: len(*of) > 0, drop: func() { *of = nil }}
	for _, item := range *of {
		b.places = append(b.places, place(item))
	}
	return b
}

func placeOfPoints(p Points) Place { return p.Place }
func placeOfSurvey(s Survey) Place { return s.Place }
