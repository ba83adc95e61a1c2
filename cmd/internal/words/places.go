package words

import (
	"strconv"
	"strings"

	"telltale/evidence"
)

// Place says a place, "cylinder 2" or "left cylinder, head end"; empty for the
// whole pump.
func Place(p evidence.Place) string {
	if p.Cylinder == "" {
		return ""
	}
	out := p.Cylinder + " cylinder"
	if _, err := strconv.Atoi(p.Cylinder); err == nil {
		out = "cylinder " + p.Cylinder
	}
	if p.End != "" {
		out += ", " + p.End + " end"
	}
	return out
}

// Cylinder says a cylinder by its name.
func Cylinder(name string) string { return Place(evidence.Place{Cylinder: name}) }

// Places joins places by a word: "cylinder 1 and left cylinder, head end".
func Places(places []evidence.Place, by string) string {
	var out []string
	for _, p := range places {
		out = append(out, Place(p))
	}
	return strings.Join(out, by)
}

// Titled joins a title and its place.
func Titled(title string, p evidence.Place) string {
	return TitledAt(title, []evidence.Place{p})
}

// TitledAt joins a title and the places where it may be.
func TitledAt(title string, places []evidence.Place) string {
	if all := Places(places, " or "); all != "" {
		return title + ", " + all
	}
	return title
}

// AtEach joins a title, the places where it stands, and what holds at each of them:
// "Guide low, cylinders 1, 2 and 3 (each likely, 65 %)".
func AtEach(title string, places []evidence.Place, holds string) string {
	return AtAll(title, places) + " (" + map[bool]string{true: "each "}[len(places) > 1] + holds + ")"
}

// AtAll joins a title and the places where it stands: "Guide low, cylinders 1, 2 and
// 3", "Valve, left cylinder, head end and right cylinder, crank end".
func AtAll(title string, places []evidence.Place) string {
	if len(places) < 2 {
		return TitledAt(title, places)
	}
	lead, names := "cylinders ", make([]string, len(places))
	for i, p := range places {
		names[i] = p.String()
		if _, err := strconv.Atoi(names[i]); err != nil {
			lead = ""
		}
	}
	if lead == "" {
		for i, p := range places {
			names[i] = Place(p)
		}
	}
	last := len(names) - 1
	return title + ", " + lead + strings.Join(names[:last], ", ") + " and " + names[last]
}
