package pages

import (
	"fmt"
	"slices"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/evidence"
	"telltale/rules"
)

// Block is a block of readings of a case file as a form, on paper and in a browser:
// its fields in the order in which the hand takes them.
type Block struct {
	Name  string // as in the case file
	Level evidence.Level
	Sets  []FieldSet
	Lines *Lines
	Whole bool // typed at once: nothing of it stands alone
}

// AllFields are all fields but those of lines.
func (b *Block) AllFields() (out []Field) {
	for _, set := range b.Sets {
		out = append(out, set.Fields...)
	}
	return out
}

// LineKey is the key of a field of a line, counted from 0.
func (b *Block) LineKey(i int, of Field) string {
	return fmt.Sprintf("%s.%d.%s", b.Lines.Key, i, of.Key)
}

// Command is what is typed into a case at once, of a block at a place: the words
// behind "telltale note CASE", then its fields in the order of the hand.
type Command struct {
	Words  string
	Taken  []Field // those that stand once for all places, of the first command
	Fields []Field
}

// Taken are the fields that say how the readings of a block are taken: the same at all
// its places.
func (b *Block) Taken() []Field {
	if b.Sets[0].Legend == howTaken {
		return b.Sets[0].Fields
	}
	return nil
}

// Commands gives what is typed of a block at a place, in order. What is no reading goes
// with the first reading behind it, as long as nothing of the block was read: a case
// takes none of it without. The asides, which are seldom read, come alone: they go into
// a case that has the rest.
func (b *Block) Commands(at evidence.Place, asides bool) (out []Command) {
	root := []string{"measured", b.Name}
	if b.Name == rules.SuctionBlock || b.Name == rules.ShimsBlock {
		root = root[1:]
	}
	if at.Cylinder != "" {
		root = append(root, at.Cylinder)
	}
	words := strings.Join(doc.Each(root, quoted), " ")
	var fields []Field // that wait for a reading
	add := func() {
		c := Command{Words: words, Fields: fields}
		if len(out) == 0 && !asides {
			c.Taken = b.Taken()
		}
		out, fields = append(out, c), nil
	}
	for i, set := range b.Sets {
		if (set.Aside != "") != asides || i == 0 && len(b.Taken()) > 0 {
			continue
		}
		fields = append(fields, set.Fields...)
		if asides || len(out) > 0 || !b.Whole && slices.ContainsFunc(set.Fields, func(f Field) bool { return f.Reading }) {
			add()
		}
	}
	if b.Lines != nil && !asides {
		for i := range b.Lines.Most {
			for _, f := range b.Lines.Fields {
				f.Label, f.Key = "", fmt.Sprintf("%s.%d.%s", b.Lines.Key, i+1, f.Key)
				fields = append(fields, f)
			}
		}
	}
	if len(fields) > 0 {
		add()
	}
	return out
}

// Named is what stands before the room for a field: its label, where the key does not
// say the same, and the key as it is typed.
func (f *Field) Named() string {
	said := strings.ReplaceAll(f.Key[strings.LastIndex(f.Key, ".")+1:], "-", " ")
	if strings.EqualFold(said, f.Label) || f.Label == "" {
		return f.Key + "="
	}
	return f.Label + ": " + f.Key + "="
}

// howTaken heads how readings are taken.
const howTaken = "How they are taken"

// Title is the block in words.
func (b *Block) Title() string { return BlockTitle(b.Name) }

// FieldSet is fields that belong together.
type FieldSet struct {
	Legend string
	Aside  string // over fieldsets that are seldom needed, one or several beside each other
	Fields []Field
}

// Field is one thing to type or to choose.
type Field struct {
	Key     string // below the block, as in the case file, with points between keys
	Label   string
	In      Units
	Words   []string // what can be chosen, as in the case file; else it is typed
	Said    []string // the same in words
	Reading bool     // a reading itself: without any of them nothing is left of the block
	Hint    string
}

// Lines are what a block has as a list: stations along a bore, pipes.
type Lines struct {
	Key, Legend, Each string
	Fields            []Field // of each line
	Most              int
}

// Units are how a figure is written where it stands without its unit.
type Units struct {
	Of            evidence.Dimension
	Field, Metric string
}

var (
	clearance = Units{evidence.Length, "thou", "mm"}
	size      = Units{evidence.Length, "in", "mm"}
	distance  = Units{evidence.Length, "ft", "m"}
	slope     = Units{evidence.Slope, "thou/ft", "mm/m"}
	volume    = Units{evidence.Volume, "bbl", "m3"}
	pressure  = Units{evidence.Pressure, "psi", "bar"}
	strokes   = Units{evidence.StrokeRate, "strokes/min", "strokes/min"}
	density   = Units{evidence.Density, "lb/gal", "kg/m3"}
)

// Unit is that of a bare number.
func (u Units) Unit(metric bool) string {
	if metric {
		return u.Metric
	}
	return u.Field
}

// points are readings at named points.
func points(in Units, keyed string, names ...string) []Field {
	var out []Field
	for _, name := range names {
		label := strings.ReplaceAll(name, "-", " ")
		out = append(out, Field{Key: keyed + name, Label: strings.ToUpper(label[:1]) + label[1:], In: in, Reading: true})
	}
	return out
}

// method is how the readings of a block were taken.
func method(with string) FieldSet {
	return FieldSet{Legend: howTaken, Fields: []Field{
		{Key: "resolution", Label: "Smallest step that the method shows", In: clearance, Hint: "feelers: the thinnest leaf"},
		{Key: "each-reading-is", Label: "Each reading is", Words: []string{"nearest", "largest-leaf"}, Said: []string{"the nearest", "the largest leaf that enters"}},
		{Key: "with", Label: "Taken with, the instrument", Hint: with},
	}}
}

// unequal stands over what only shims that differ at the two ends need.
const unequal = "For shims that differ at the two ends"

// around are the clearances round a rod with the crosshead at its three places.
func around(legend, keyed, aside string) (out []FieldSet) {
	for _, at := range []string{"back", "middle", "front"} {
		out = append(out, FieldSet{Legend: legend + "crosshead at the " + at, Aside: aside, Fields: points(clearance, keyed+at+".", "top", "bottom", "left", "right")})
	}
	return out
}

// secondOpening are the clearances round a rod in a second opening, behind how far off
// it is.
func secondOpening() []FieldSet {
	out := around("Second opening, if there is one, ", "second-plane.", unequal)
	out[0].Fields = append([]Field{{Key: "second-plane.at", Label: "From the crosshead's centre at mid stroke to it", In: size}}, out[0].Fields...)
	return out
}

// bores is a form of diameters along a bore or a rod.
func bores(name string) Block {
	return Block{
		Name: name, Level: evidence.OfCylinder,
		Sets: []FieldSet{method("inside micrometer, caliper"), {Fields: []Field{{Key: "new", Label: "Size when new", In: size}}}},
		Lines: &Lines{Key: "stations", Legend: "Stations, from the crank end to the head end", Each: "Station", Most: 6, Fields: []Field{
			{Key: "up-down", Label: "up-down", In: size, Reading: true}, {Key: "across", Label: "across", In: size, Reading: true},
		}},
	}
}

// gauged is what the gauges said at one time.
func gauged(legend, keyed string) FieldSet {
	return FieldSet{Legend: legend, Fields: []Field{
		{Key: keyed + "discharge", Label: "Discharge pressure", In: pressure, Reading: true},
		{Key: keyed + "speed", Label: "Speed", In: strokes, Reading: true},
		{Key: keyed + "charge-pressure", Label: "Charge pressure", In: pressure, Reading: true},
		{Key: keyed + "load", Label: "Load of the drive", Hint: "amps or torque, a bare number", Reading: true},
	}}
}

// Blocks are all blocks of readings, in the order in which a crew comes to them.
var Blocks = []Block{
	{Name: "rod-in-opening", Level: evidence.OfCylinder, Sets: slices.Concat([]FieldSet{
		method("feelers"),
		{Legend: "How it stands", Fields: []Field{
			{Key: "rod", Label: "The piston rod is", Words: []string{"parted", "joined"}, Said: []string{"parted from the extension rod", "joined to it: no shim is given"}},
			{Key: "crosshead", Label: "The crosshead is", Words: []string{"seated", "not-seated"}, Said: []string{"seated on its lower guide at all corners", "not seated"}},
		}},
	}, around("Opening, ", "", ""), []FieldSet{
		{Legend: "Distances", Aside: unequal, Fields: []Field{
			{Key: "at", Label: "From the crosshead's centre at mid stroke to the opening", In: size},
			{Key: "guide-supports.rear", Label: "From that centre to the rear support of the guide", In: size},
			{Key: "guide-supports.front", Label: "To the front support", In: size},
		}},
	}, secondOpening(), []FieldSet{
		{Legend: "Guide against the bore line, if it was measured", Aside: unequal, Fields: []Field{
			{Key: "guide-slope.slope", Label: "Slope", In: slope},
			{Key: "guide-slope.within", Label: "It may be off by", In: slope},
			{Key: "guide-slope.rises-toward", Label: "It rises toward the", Words: []string{"fluid-end", "crank-end"}, Said: []string{"fluid end", "crank end"}},
		}},
		{Aside: "Sizes, and a centre guide", Fields: []Field{
			{Key: "opening", Label: "Diameter of the opening", In: size},
			{Key: "rod-diameter", Label: "Diameter of the rod", In: size},
			{Key: "centre-guide", Label: "A centre guide stands between outer ones", Words: []string{"true", "false"}, Said: []string{"yes", "no"}},
		}},
	})},
	{Name: "upper-guide", Level: evidence.OfCylinder, Sets: []FieldSet{
		method("feelers"),
		{Legend: "At the rear", Fields: points(clearance, "", "rear", "rear-left", "rear-right")},
		{Legend: "At the middle", Fields: points(clearance, "", "middle", "middle-left", "middle-right")},
		{Legend: "At the front", Fields: points(clearance, "", "front", "front-left", "front-right")},
	}},
	{Name: "rod-face-gap", Level: evidence.OfCylinder, Sets: []FieldSet{method("feelers"), {Legend: "Round the face", Fields: points(clearance, "", "top", "bottom", "left", "right")}}},
	{Name: "fluid-end-gap", Level: evidence.OfPump, Sets: []FieldSet{method("feelers"), {
		Legend: "Round the joint, clockwise",
		Fields: points(clearance, "", "top-left", "top", "top-right", "right", "bottom-right", "bottom", "bottom-left", "left"),
	}}},
	bores("liner-bore"), bores("piston-rod"), bores("extension-rod"),
	{Name: "tank-test", Level: evidence.OfPump, Sets: []FieldSet{{Fields: []Field{
		{Key: "strokes", Label: "Strokes counted", Reading: true}, {Key: "strokes-within", Label: "They may be off by", Hint: "strokes"},
		{Key: "volume", Label: "Volume moved", In: volume, Reading: true}, {Key: "volume-within", Label: "It may be off by", In: volume},
	}}}},
	{Name: "before-and-now", Level: evidence.OfPump, Whole: true, Sets: []FieldSet{
		gauged("Before the trouble", "before."), gauged("Now", "now."),
		{Legend: "What was the same", Fields: []Field{
			{Key: "drive-setting", Label: "The drive is set", Words: []string{"same", "changed"}, Said: []string{"as it was", "otherwise"}},
			{Key: "mud", Label: "Mud"},
		}},
		{Aside: "The sound pump at two rates, if they were written down", Fields: []Field{
			{Key: "two-rates.slow.speed", Label: "Slow: speed", In: strokes}, {Key: "two-rates.slow.discharge", Label: "Slow: discharge pressure", In: pressure},
			{Key: "two-rates.fast.speed", Label: "Fast: speed", In: strokes}, {Key: "two-rates.fast.discharge", Label: "Fast: discharge pressure", In: pressure},
		}},
	}},
	{
		Name: rules.SuctionBlock, Level: evidence.OfPump, Whole: true,
		Sets: []FieldSet{{Fields: []Field{
			{Key: "mud-weight", Label: "Mud weight", In: density, Reading: true},
			{Key: "mud-above-pump", Label: "Mud level above the pump's suction", In: distance, Reading: true},
			{Key: "mud-below-pump", Label: "Or below it", In: distance, Reading: true},
			{Key: "charge-pressure", Label: "Charge pressure at the pump's suction", In: pressure, Hint: "takes the place of level and friction", Reading: true},
			{Key: "friction-head", Label: "Head lost in the suction line", In: distance},
			{Key: "head-needed", Label: "Head that the pump needs, from its manual", In: distance},
		}}},
		Lines: &Lines{Key: "pipes", Legend: "Suction pipes, from the pit to the pump", Each: "Pipe", Most: 4, Fields: []Field{{Key: "length", Label: "length", In: distance}, {Key: "bore", Label: "bore", In: size}}},
	},
	{Name: rules.ShimsBlock, Level: evidence.OfCylinder, Whole: true, Sets: []FieldSet{
		{Legend: "Put in", Fields: []Field{{Key: "put-in.rear", Label: "At both ends, or at the rear", In: clearance, Reading: true}, {Key: "put-in.front", Label: "At the front, if it is another", In: clearance}}},
		{Legend: "Taken out", Fields: []Field{{Key: "taken-out.rear", Label: "At both ends, or at the rear", In: clearance, Reading: true}, {Key: "taken-out.front", Label: "At the front, if it is another", In: clearance}}},
	}},
}

// BlockNamed gives a block by its name; nil if there is none.
func BlockNamed(name string) *Block {
	i := slices.IndexFunc(Blocks, func(b Block) bool { return b.Name == name })
	if i < 0 {
		return nil
	}
	return &Blocks[i]
}
