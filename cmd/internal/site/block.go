package site

import (
	"slices"
	"strings"

	"telltale/cmd/internal/pages"
	"telltale/cmd/internal/prompt"
	"telltale/evidence"
)

// block is a block of readings of a case file as a form: its fields in the order in
// which the hand takes them.
type block struct {
	Name  string // as in the case file
	Level evidence.Level
	Sets  []fieldset
	Lines *lines
}

// Title is the block in words.
func (b *block) Title() string {
	if b.Name == shimsBlock {
		return "Shims under the lower guide"
	}
	return pages.BlockTitle(b.Name)
}

// fieldset is fields that belong together.
type fieldset struct {
	Legend string
	Aside  string // over fieldsets that are seldom needed, one or several beside each other
	Fields []field
}

// field is one thing to type or to choose.
type field struct {
	Key     string // below the block, as in the case file, with points between keys
	Label   string
	In      units
	Words   []string // what can be chosen, as in the case file; else it is typed
	Said    []string // the same in words
	Reading bool     // a reading itself: without any of them nothing is left of the block
	Hint    string
}

// lines are what a block has as a list: stations along a bore, pipes.
type lines struct {
	Key, Legend, Each string
	Fields            []field // of each line
	Most              int
}

// units are how a figure is written where it stands without its unit.
type units struct {
	Of            evidence.Dimension
	Field, Metric string
}

var (
	clearance = units{evidence.Length, "thou", "mm"}
	size      = units{evidence.Length, "in", "mm"}
	distance  = units{evidence.Length, "ft", "m"}
	slope     = units{evidence.Slope, "thou/ft", "mm/m"}
	volume    = units{evidence.Volume, "bbl", "m3"}
	pressure  = units{evidence.Pressure, "psi", "bar"}
	strokes   = units{evidence.StrokeRate, "strokes/min", "strokes/min"}
	density   = units{evidence.Density, "lb/gal", "kg/m3"}
)

// unit is that of a bare number.
func (u units) unit(metric bool) string {
	if metric {
		return u.Metric
	}
	return u.Field
}

// written is what was typed as it stands in a file: a bare number with its unit.
func (f *field) written(text string, metric bool) string {
	text = prompt.Plain(text)
	if f.In.Of == "" || text == "" {
		return text
	}
	e := prompt.Entry{Of: f.In.Of, Unit: f.In.unit(metric)}
	if low, high, isRange := strings.Cut(text, " to "); isRange {
		return strings.Replace(low, ",", ".", 1) + " to " + e.Written(high)
	}
	return e.Written(text)
}

// points are readings at named points.
func points(in units, keyed string, names ...string) []field {
	var out []field
	for _, name := range names {
		label := strings.ReplaceAll(name, "-", " ")
		out = append(out, field{Key: keyed + name, Label: strings.ToUpper(label[:1]) + label[1:], In: in, Reading: true})
	}
	return out
}

// method is how the readings of a block were taken.
func method(with string) fieldset {
	return fieldset{Legend: "How they are taken", Fields: []field{
		{Key: "resolution", Label: "Smallest step that the method shows", In: clearance, Hint: "feelers: the thinnest leaf"},
		{Key: "each-reading-is", Label: "Each reading is", Words: []string{"nearest", "largest-leaf"}, Said: []string{"the nearest", "the largest leaf that enters"}},
		{Key: "with", Label: "Taken with, the instrument", Hint: with},
	}}
}

// unequal stands over what only shims that differ at the two ends need.
const unequal = "For shims that differ at the two ends"

// around are the clearances round a rod with the crosshead at its three places.
func around(legend, keyed, aside string) (out []fieldset) {
	for _, at := range []string{"back", "middle", "front"} {
		out = append(out, fieldset{Legend: legend + "crosshead at the " + at, Aside: aside, Fields: points(clearance, keyed+at+".", "top", "bottom", "left", "right")})
	}
	return out
}

// survey is a form of diameters along a bore or a rod.
func survey(name string) block {
	return block{
		Name: name, Level: evidence.OfCylinder,
		Sets: []fieldset{method("inside micrometer, caliper"), {Fields: []field{{Key: "new", Label: "Size when new", In: size}}}},
		Lines: &lines{Key: "stations", Legend: "Stations, from the crank end to the head end", Each: "Station", Most: 6, Fields: []field{
			{Key: "up-down", Label: "up-down", In: size, Reading: true}, {Key: "across", Label: "across", In: size, Reading: true},
		}},
	}
}

// gauged is what the gauges said at one time.
func gauged(legend, keyed string) fieldset {
	return fieldset{Legend: legend, Fields: []field{
		{Key: keyed + "discharge", Label: "Discharge pressure", In: pressure, Reading: true},
		{Key: keyed + "speed", Label: "Speed", In: strokes, Reading: true},
		{Key: keyed + "charge-pressure", Label: "Charge pressure", In: pressure, Reading: true},
		{Key: keyed + "load", Label: "Load of the drive", Hint: "amps or torque, a bare number", Reading: true},
	}}
}

// suctionBlock and shimsBlock do not stand under measured: in the case file.
const (
	suctionBlock = "suction-line"
	shimsBlock   = "shims"
)

// blocks are all blocks of readings, in the order in which a crew comes to them.
var blocks = []block{
	{Name: "rod-in-opening", Level: evidence.OfCylinder, Sets: slices.Concat([]fieldset{
		method("feelers"),
		{Legend: "How it stands", Fields: []field{
			{Key: "rod", Label: "The piston rod is", Words: []string{"parted", "joined"}, Said: []string{"parted from the extension rod", "joined to it: no shim is given"}},
			{Key: "crosshead", Label: "The crosshead is", Words: []string{"seated", "not-seated"}, Said: []string{"seated on its lower guide at all corners", "not seated"}},
		}},
	}, around("Opening, ", "", ""), []fieldset{
		{Legend: "Distances", Aside: unequal, Fields: []field{
			{Key: "at", Label: "From the crosshead's centre at mid stroke to the opening", In: size},
			{Key: "guide-supports.rear", Label: "From that centre to the rear support of the guide", In: size},
			{Key: "guide-supports.front", Label: "To the front support", In: size},
			{Key: "second-plane.at", Label: "To the second opening, if there is one", In: size},
		}},
	}, around("Second opening, ", "second-plane.", unequal), []fieldset{
		{Legend: "Guide against the bore line, if it was measured", Aside: unequal, Fields: []field{
			{Key: "guide-slope.slope", Label: "Slope", In: slope},
			{Key: "guide-slope.within", Label: "It may be off by", In: slope},
			{Key: "guide-slope.rises-toward", Label: "It rises toward the", Words: []string{"fluid-end", "crank-end"}, Said: []string{"fluid end", "crank end"}},
		}},
		{Aside: "Sizes, and a centre guide", Fields: []field{
			{Key: "opening", Label: "Diameter of the opening", In: size},
			{Key: "rod-diameter", Label: "Diameter of the rod", In: size},
			{Key: "centre-guide", Label: "A centre guide stands between outer ones", Words: []string{"true", "false"}, Said: []string{"yes", "no"}},
		}},
	})},
	{Name: "upper-guide", Level: evidence.OfCylinder, Sets: []fieldset{
		method("feelers"),
		{Legend: "At the rear", Fields: points(clearance, "", "rear", "rear-left", "rear-right")},
		{Legend: "At the middle", Fields: points(clearance, "", "middle", "middle-left", "middle-right")},
		{Legend: "At the front", Fields: points(clearance, "", "front", "front-left", "front-right")},
	}},
	{Name: "rod-face-gap", Level: evidence.OfCylinder, Sets: []fieldset{method("feelers"), {Legend: "Round the face", Fields: points(clearance, "", "top", "bottom", "left", "right")}}},
	{Name: "fluid-end-gap", Level: evidence.OfPump, Sets: []fieldset{method("feelers"), {
		Legend: "Round the joint, clockwise",
		Fields: points(clearance, "", "top-left", "top", "top-right", "right", "bottom-right", "bottom", "bottom-left", "left"),
	}}},
	survey("liner-bore"), survey("piston-rod"), survey("extension-rod"),
	{Name: "tank-test", Level: evidence.OfPump, Sets: []fieldset{{Fields: []field{
		{Key: "strokes", Label: "Strokes counted", Reading: true}, {Key: "strokes-within", Label: "They may be off by", Hint: "strokes"},
		{Key: "volume", Label: "Volume moved", In: volume, Reading: true}, {Key: "volume-within", Label: "It may be off by", In: volume},
	}}}},
	{Name: "before-and-now", Level: evidence.OfPump, Sets: []fieldset{
		gauged("Before the trouble", "before."), gauged("Now", "now."),
		{Legend: "What was the same", Fields: []field{
			{Key: "drive-setting", Label: "The drive is set", Words: []string{"same", "changed"}, Said: []string{"as it was", "otherwise"}},
			{Key: "mud", Label: "Mud"},
		}},
		{Aside: "The sound pump at two rates, if they were written down", Fields: []field{
			{Key: "two-rates.slow.speed", Label: "Slow: speed", In: strokes}, {Key: "two-rates.slow.discharge", Label: "Slow: discharge pressure", In: pressure},
			{Key: "two-rates.fast.speed", Label: "Fast: speed", In: strokes}, {Key: "two-rates.fast.discharge", Label: "Fast: discharge pressure", In: pressure},
		}},
	}},
	{
		Name: suctionBlock, Level: evidence.OfPump,
		Sets: []fieldset{{Fields: []field{
			{Key: "mud-weight", Label: "Mud weight", In: density, Reading: true},
			{Key: "mud-above-pump", Label: "Mud level above the pump's suction", In: distance, Reading: true},
			{Key: "mud-below-pump", Label: "Or below it", In: distance, Reading: true},
			{Key: "charge-pressure", Label: "Charge pressure at the pump's suction", In: pressure, Hint: "takes the place of level and friction", Reading: true},
			{Key: "friction-head", Label: "Head lost in the suction line", In: distance},
			{Key: "head-needed", Label: "Head that the pump needs, from its manual", In: distance},
		}}},
		Lines: &lines{Key: "pipes", Legend: "Suction pipes, from the pit to the pump", Each: "Pipe", Most: 4, Fields: []field{{Key: "length", Label: "length", In: distance}, {Key: "bore", Label: "bore", In: size}}},
	},
	{Name: shimsBlock, Level: evidence.OfCylinder, Sets: []fieldset{
		{Legend: "Put in", Fields: []field{{Key: "put-in.rear", Label: "At both ends, or at the rear", In: clearance, Reading: true}, {Key: "put-in.front", Label: "At the front, if it is another", In: clearance}}},
		{Legend: "Taken out", Fields: []field{{Key: "taken-out.rear", Label: "At both ends, or at the rear", In: clearance, Reading: true}, {Key: "taken-out.front", Label: "At the front, if it is another", In: clearance}}},
	}},
}

// blockNamed gives a block by its name; nil if there is none.
func blockNamed(name string) *block {
	i := slices.IndexFunc(blocks, func(b block) bool { return b.Name == name })
	if i < 0 {
		return nil
	}
	return &blocks[i]
}
