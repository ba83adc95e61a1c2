package sheet

import (
	"slices"
	"strings"
	"time"

	"telltale/cmd/internal/drawing"
	"telltale/cmd/internal/page"
	"telltale/engine"
	"telltale/engine/figures"
	"telltale/evidence"
	"telltale/rules"
)

// ForReadings is a sheet to take along before there is a case file: what stops
// everything, the isolation, the pump's data, the signs to tick and a form for
// every reading. Behind each heading stands where it goes in the case file.
func ForReadings(book *rules.Book, action evidence.Action, at time.Time) *Page {
	b := blank{book: book, bare: rules.BareCase(action)}
	kind := strings.Replace(string(action), "-", " ", 1)
	name, digest := book.Name+", version "+book.Version+", digest "+book.Digest, safeFoot(book.Digest, 12)
	if local := book.Local; local != nil {
		name, digest = name+"; changed by the "+local.String(), digest+" + local "+safeFoot(local.Digest, 12)
	}
	p := &Page{
		Title: "BLANK SHEET FOR READINGS: " + kind,
		Lines: []string{
			"Rulebook: " + name + ". Written: " + written(at) + ".",
			"Site rules and licensed practice govern. " + page.Govern,
			"What nobody looked at stays empty: unknown is not no. Write figures with their unit.",
		},
		Foot: "Blank sheet, " + safeFoot(kind, 40) + " - " + safeFoot(written(at), 30) + " - rulebook " + digest,
	}
	p.add(b.stops())
	p.add(b.names())
	p.add(b.pump())
	p.add(b.signs("What is noticed while it runs", rules.NeedsRunning))
	p.add(b.signs("What is noticed from outside, running or stopped", rules.NeedsNothing, rules.NeedsStopped, rules.NeedsLive, rules.NeedsNotIsolated))
	for _, s := range []Section{
		b.tank(), b.suction(), b.parts(), b.shims(), b.isolate(), b.signs("What is seen when it is isolated and opened", rules.NeedsIsolated),
		b.rods(), b.guides(), b.faces(), b.surveys(),
	} {
		p.add(s)
	}
	return p
}

type blank struct {
	book *rules.Book
	bare *evidence.Case
}

func (b *blank) duplex() bool { return b.bare.Pump.Action == evidence.Duplex }

func (b *blank) cylinders() []string { return b.bare.Pump.Cylinders }

// stops has the rulebook's stops.
func (b *blank) stops() Section {
	s := Section{Heading: "Before anything else", Panel: true}
	stops := Part{Head: "STOP, and take no readings, if any of these holds", Columns: true}
	for _, stop := range b.book.Stops.List {
		if len(stop.Do) > 0 {
			stops.Ticks = append(stops.Ticks, Tick{Strong: strings.ToUpper(string(stop.Signal)+", "+stop.By.Words()) + ": " + stop.Title + ".", Text: engine.Fill(b.book, b.bare, stop.Do[0])})
		}
	}
	if len(stops.Ticks) > 0 {
		s.Parts = append(s.Parts, stops)
	}
	s.Parts = append(s.Parts, text("Open nothing and reach into nothing before the isolation is done: it stands in the second panel, before the signs of the opened pump."))
	return s
}

// isolate has the steps of the isolation before everything that needs it.
func (b *blank) isolate() Section {
	t := &Table{Head: []string{"Isolation", "Done", "Initials"}}
	for _, step := range b.isolation() {
		t.Rows = append(t.Rows, []Cell{{Text: strings.ToUpper(string(step.Signal)) + ": " + step.Title + ". " + engine.Fill(b.book, b.bare, step.Do)}, {Boxes: []string{""}}, {}})
	}
	part := text("Hands go in only behind all of this. The site's isolation procedure and permit have the words and govern.")
	part.Table = t
	return Section{Heading: "ISOLATE BEFORE HANDS GO IN", Panel: true, Keep: true, Parts: []Part{part}}
}

// isolation lists the steps of stopping and isolating, each after what the
// rulebook puts before it.
func (b *blank) isolation() []*rules.Safety {
	var open, out []*rules.Safety
	for _, step := range b.book.Safety.List {
		if (step.For == rules.ForStopping || step.For == rules.ForIsolation) && step.When.Holds(b.bare, b.book) {
			open = append(open, step)
		}
	}
	waits := func(step *rules.Safety) bool {
		return slices.ContainsFunc(open, func(other *rules.Safety) bool { return slices.Contains(step.After, other.ID) })
	}
	for len(open) > 0 {
		next := max(0, slices.IndexFunc(open, func(step *rules.Safety) bool { return !waits(step) }))
		out = append(out, open[next])
		open = slices.Delete(open, next, next+1)
	}
	return out
}

func (b *blank) pump() Section {
	part := Part{
		Blanks: []Blank{
			{Label: "State:", Boxes: evidence.PumpStates()},
			{Label: "Rotation (forward: the top of the crankshaft moves toward the fluid end):", Boxes: evidence.Rotations()},
			{Label: "Pump:", Items: []string{"name", "hours"}},
			{Label: "Cylinders are called:", Items: b.cylinders()},
			{Label: "Size:", Items: []string{"liner", "stroke", "connecting rod"}},
			{Label: "Now:", Items: []string{"strokes/min", "discharge", "suction"}},
		},
	}
	if b.duplex() {
		part.Blanks[4].Items = append(part.Blanks[4].Items, "piston rod")
	}
	works := Part{Head: "Done lately (recent)"}
	for _, w := range b.book.Works.List {
		works.Boxes = append(works.Boxes, w.Title)
	}
	manual := &Table{Head: []string{"Figure", "Manual says", "Figure", "Manual says"}, Room: true}
	for _, l := range b.book.Limits.List {
		if last := len(manual.Rows) - 1; last >= 0 && manual.Rows[last][2].Text == "" {
			manual.Rows[last][2].Text = l.Title
		} else {
			manual.Rows = append(manual.Rows, cells(l.Title, "", "", ""))
		}
	}
	s := Section{Heading: "The pump", Parts: []Part{part}}
	if len(works.Boxes) > 0 {
		s.Parts = append(s.Parts, works)
	}
	if len(manual.Rows) > 0 {
		s.Parts = append(s.Parts, Part{Head: "From this pump's manual (manual)", Table: manual})
	}
	return s
}

// signs lists the signs that can be looked at with the pump as it stands, a
// line for each kind, with a box for each place.
func (b *blank) signs(heading string, needs ...rules.PumpNeed) Section {
	t := &Table{Head: []string{"Sign", "Seen", "Looked, not there"}, Flow: true}
	for _, sign := range b.book.Signs.List {
		if sign.Reckoned || !slices.Contains(needs, sign.Pump) || !sign.When.Holds(b.bare, b.book) {
			continue
		}
		boxes := b.places(sign.Level)
		t.Rows = append(t.Rows, []Cell{{Text: sign.Title}, {Kinds: seen(sign, boxes)}, {Boxes: boxes}})
	}
	if len(t.Rows) == 0 {
		return Section{}
	}
	return Section{Heading: heading + " (findings)", Parts: []Part{{Table: t}}}
}

// seen has the boxes of a sign, for each kind if it has any.
func seen(sign *rules.Sign, boxes []string) []Kind {
	if len(sign.Kinds) == 0 {
		return []Kind{{Boxes: boxes}}
	}
	var out []Kind
	for _, kind := range sign.Kinds {
		k := Kind{Text: kind.Title + ":", Boxes: boxes}
		if sign.Level == evidence.OfPump {
			k = Kind{Boxes: []string{kind.Title}}
		}
		out = append(out, k)
	}
	return out
}

// places are the words behind the boxes of a sign; one box without a word for
// the whole pump.
func (b *blank) places(level evidence.Level) []string {
	var out []string
	for _, p := range b.bare.Pump.Places(level) {
		out = append(out, p.String())
	}
	return out
}

// how says how a set of readings was taken.
func how(more ...Blank) []Blank {
	return append([]Blank{
		{Label: "Taken with:", Items: []string{"instrument", "smallest step"}},
		{Label: "Each reading is:", Boxes: []string{"the nearest", "the largest leaf that enters"}},
	}, more...)
}

// grid is a table with a first column of names and the rest open.
func grid(head []string, names ...string) *Table {
	t := &Table{Head: head, Room: true}
	for _, name := range names {
		row := make([]Cell, len(head))
		row[0] = Cell{Text: name, Tight: len(name) <= mostTight+4}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// cylinder names a cylinder in a heading.
func cylinder(name string) string { return capital(page.At(evidence.Place{Cylinder: name})) }

func (b *blank) rods() Section {
	picture := drawing.BlankRod("rod-blank")
	s := Section{Heading: "Rod in its opening (measured: rod-in-opening)", Parts: []Part{
		{Text: []string{"Rods parted, crosshead seated on its lower guide. Turn by hand under the lock. Top and bottom must add up to the same at all three places, else read again."}, Picture: &picture},
		b.gauges("rod-centring"),
		{Blanks: how(), With: true},
	}}
	places := func() *Table {
		return grid([]string{"Crosshead", "Top", "Bottom", "Left", "Right"}, "back", "middle", "front")
	}
	for _, c := range b.cylinders() {
		s.Parts = append(s.Parts, Part{
			Head: cylinder(c), With: true,
			Blanks: []Blank{
				{Label: "Rod:", Boxes: []string{"parted", "joined", "crosshead seated", "not seated"}},
				{Label: "From the crosshead's centre at mid stroke to:", Items: []string{"opening", "second opening"}},
				{Label: "and to the guide's supports:", Items: []string{"rear", "front"}},
			},
		}, Part{Text: []string{"Opening"}, Table: places(), Half: true}, Part{Text: []string{"Second opening, if there is one"}, Table: places(), Half: true})
	}
	return s
}

func (b *blank) guides() Section {
	s := Section{Heading: "Clearance over the crosshead (measured: upper-guide)"}
	t := &Table{Head: []string{"", "Rear left", "Rear right", "Middle left", "Middle right", "Front left", "Front right"}, Room: true}
	for _, c := range b.cylinders() {
		t.Rows = append(t.Rows, append([]Cell{{Text: cylinder(c)}}, make([]Cell, 6)...))
	}
	s.Parts = append(s.Parts, b.gauges("guide-clearance"), Part{Blanks: how(), Table: t})
	return s
}

// gauges names what the readings of a check can be taken with.
func (b *blank) gauges(check string) Part {
	part := Part{With: true}
	for _, g := range figures.Gauges(b.book.GaugesFor(check)) {
		part.Items = append(part.Items, page.GaugeLine(g))
	}
	if len(part.Items) > 0 {
		part.Text = []string{"What to measure with, and what each shows (judged, in a practised hand):"}
	}
	return part
}

func (b *blank) shims() Section {
	return Section{Heading: "Shims on hand (shims-on-hand)", Parts: []Part{{Table: &Table{Head: []string{"Thickness", "Measures", "Pieces", "Thickness", "Measures", "Pieces"}, Room: true, Rows: emptyRows(3, 6)}}}}
}

func (b *blank) faces() Section {
	t := &Table{Head: []string{"", "Top", "Bottom", "Left", "Right"}, Room: true}
	for _, c := range b.cylinders() {
		t.Rows = append(t.Rows, append([]Cell{{Text: cylinder(c)}}, make([]Cell, 4)...))
	}
	return Section{Heading: "Gaps at faces (measured)", Parts: []Part{
		{Blanks: how(), With: true},
		{Text: []string{"Extension rod's face (rod-face-gap)"}, Table: t, Half: true},
		{Text: []string{"Fluid end to power end (fluid-end-gap)"}, Table: grid([]string{"", "Left", "Middle", "Right"}, "top", "bottom"), Half: true},
	}}
}

func (b *blank) surveys() Section {
	s := Section{Heading: "Liners and rods (measured)"}
	names := []string{"Liner bore (liner-bore)", "Extension rod (extension-rod)"}
	if b.duplex() {
		names = append(names, "Piston rod (piston-rod)")
	}
	for _, name := range names {
		head := []string{"Station"}
		for _, c := range b.cylinders() {
			head = append(head, c+": up-down", c+": across")
		}
		s.Parts = append(s.Parts, Part{Head: name, Blanks: []Blank{{Label: "Taken with:", Items: []string{"instrument", "smallest step", "size when new"}}}, Table: grid(head, "1", "2", "3", "4", "5")})
	}
	return s
}

func (b *blank) tank() Section {
	return Section{Heading: "Tank test (measured: tank-test)", Parts: []Part{{Whole: true, Blanks: []Blank{
		{Label: "Strokes counted:", Items: []string{"", "may be off by"}}, {Label: "Volume moved:", Items: []string{"", "may be off by"}}, {Label: "At:", Items: []string{"strokes/min", "discharge"}},
	}}}}
}

func (b *blank) suction() Section {
	return Section{Heading: "Suction (suction-line)", Parts: []Part{
		{Blanks: []Blank{
			{Label: "Mud:", Items: []string{"weight", "above the pump", "or below it"}}, {Label: "Charge pressure at the pump:", Items: []string{""}},
			{Label: "Head lost to friction:", Items: []string{""}}, {Label: "Head the pump needs (manual):", Items: []string{""}},
		}, Table: &Table{Head: []string{"Pipe", "Length", "Bore"}, Room: true, Rows: [][]Cell{cells("1", "", ""), cells("2", "", ""), cells("3", "", "")}}},
	}}
}

func (b *blank) parts() Section {
	t := &Table{Head: []string{"Part, place", "Record from", "to", "Changed at (pump hours)"}, Room: true, Rows: emptyRows(8, 4)}
	return Section{Heading: "Record of changed parts (parts)", Parts: []Part{{Text: []string{"Pump hours at each change. Parts changed as a set are not failures of their own: write the one that failed."}, Table: t}}}
}

func (b *blank) names() Section {
	return Section{Heading: "Who takes the readings", Parts: []Part{{Table: grid([]string{"", "Name", "Signature", "Date, time"}, "Taken by", "Second person")}}}
}
