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

// block is one block of readings of a case file.
type block struct {
	name  string
	given bool
	drop  func()
}

func (m *Measured) blocks() []block {
	return []block{
		{"rod-in-opening", len(m.RodInOpening) > 0, func() { m.RodInOpening = nil }},
		{"upper-guide", len(m.UpperGuide) > 0, func() { m.UpperGuide = nil }},
		{"rod-face-gap", len(m.RodFaceGap) > 0, func() { m.RodFaceGap = nil }},
		{"fluid-end-gap", m.FluidEndGap != nil, func() { m.FluidEndGap = nil }},
		{"liner-bore", len(m.LinerBore) > 0, func() { m.LinerBore = nil }},
		{"piston-rod", len(m.PistonRod) > 0, func() { m.PistonRod = nil }},
		{"extension-rod", len(m.ExtensionRod) > 0, func() { m.ExtensionRod = nil }},
		{"tank-test", m.TankTest != nil, func() { m.TankTest = nil }},
	}
}

// PlacesOf gives the places at which a block of readings was taken; none for a
// block of the whole pump.
func (m *Measured) PlacesOf(block string) []Place {
	var out []Place
	switch block {
	case "rod-in-opening":
		for _, r := range m.RodInOpening {
			out = append(out, r.Place)
		}
	case "upper-guide":
		out = placesOfPoints(m.UpperGuide)
	case "rod-face-gap":
		out = placesOfPoints(m.RodFaceGap)
	case "liner-bore":
		out = placesOfSurveys(m.LinerBore)
	case "piston-rod":
		out = placesOfSurveys(m.PistonRod)
	case "extension-rod":
		out = placesOfSurveys(m.ExtensionRod)
	}
	return out
}

func placesOfPoints(points []Points) (out []Place) {
	for _, p := range points {
		out = append(out, p.Place)
	}
	return out
}

func placesOfSurveys(surveys []Survey) (out []Place) {
	for _, s := range surveys {
		out = append(out, s.Place)
	}
	return out
}
