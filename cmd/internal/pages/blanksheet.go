package pages

import (
	"slices"
	"strings"
	"time"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/drawing"
	"telltale/cmd/internal/words"
	"telltale/engine/figures"
	"telltale/evidence"
	"telltale/rules"
)

// BlankSheet is a sheet to take along before there is a case file: what stops
// everything, the isolation, the pump's data, the signs to tick and a form for
// every reading. Behind each heading stands where it goes in the case file.
func BlankSheet(book *rules.Book, action evidence.Action, at time.Time) *doc.Document {
	b := blankSheet{book: book, bare: rules.BareCase(action)}
	kind := words.Pump(string(action))
	name, digest := book.Name+", version "+book.Version+", digest "+book.Digest, doc.SafeFoot(book.Digest, 12)
	if local := book.Local; local != nil {
		name, digest = name+"; changed by the "+local.String(), digest+" + local "+doc.SafeFoot(local.Digest, 12)
	}
	d := &doc.Document{
		Title: "BLANK SHEET FOR READINGS: " + kind,
		Lines: []string{
			"Rulebook: " + name + ". Written: " + words.When(at) + ".",
			Govern,
			"What nobody looked at stays empty: unknown is not no. Write figures with their unit.",
		},
		Foot: "Blank sheet, " + doc.SafeFoot(kind, 40) + " - " + doc.SafeFoot(words.When(at), 40) + " - rulebook " + digest,
	}
	d.Add(
		b.stops(), b.names(), b.pump(), b.gaugesBeforeAndNow(), b.signs("What is noticed while it runs", rules.NeedsRunning),
		b.signs("What is noticed from outside, running or stopped", rules.NeedsNothing, rules.NeedsStopped, rules.NeedsLive, rules.NeedsNotIsolated),
		b.tank(), b.suction(), b.parts(), b.shims(), b.isolate(), b.signs("What is seen when it is isolated and opened", rules.NeedsIsolated),
		b.rods(), b.guides(), b.faces(), b.surveys(),
	)
	return d
}

type blankSheet struct {
	book *rules.Book
	bare *evidence.Case
}

func (b *blankSheet) duplex() bool { return b.bare.Pump.Action == evidence.Duplex }

// stops has the rulebook's stops.
func (b *blankSheet) stops() doc.Section {
	stops := doc.Part{Head: "STOP, and take no readings, if any of these holds", Columns: true}
	for _, stop := range b.book.Stops.List {
		if len(stop.Do) > 0 {
			stops.Items = append(stops.Items, doc.Item{Box: doc.ToTick, Strong: strings.ToUpper(string(stop.Signal)+", "+stop.By.Words()) + ": " + stop.Title + ".", Text: b.book.Fill(b.bare, stop.Do[0])})
		}
	}
	return doc.Section{Heading: "Before anything else", Panel: true, Parts: []doc.Part{
		stops, doc.Text("Open nothing and reach into nothing before the isolation is done: it stands in the second panel, before the signs of the opened pump."),
	}}
}

// isolate has the steps of the isolation before everything that needs it.
func (b *blankSheet) isolate() doc.Section {
	t := &doc.Table{Head: []string{"Isolation", "Done", "Initials"}, Room: true, Rows: doc.Each(b.isolation(), func(step *rules.Safety) []doc.Cell {
		return []doc.Cell{{Text: strings.ToUpper(string(step.Signal)) + ": " + step.Title + ". " + b.book.Fill(b.bare, step.Do)}, {Boxes: []string{""}}, {}}
	})}
	part := doc.Text("Hands go in only behind all of this. The site's isolation procedure and permit have the words and govern.")
	part.Table = t
	return doc.Section{Heading: "ISOLATE BEFORE HANDS GO IN", Panel: true, Keep: true, Parts: []doc.Part{part}}
}

// isolation lists the steps of stopping and isolating, each after what the
// rulebook puts before it.
func (b *blankSheet) isolation() []*rules.Safety {
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

func (b *blankSheet) pump() doc.Section {
	part := doc.Part{
		Blanks: []doc.Blank{
			{Label: "State:", Boxes: evidence.PumpStates()},
			{Label: "Rotation (forward: the top of the crankshaft moves toward the fluid end):", Boxes: evidence.Rotations()},
			{Label: "Pump:", Items: []string{"name", "hours"}},
			{Label: "Cylinders are called:", Items: b.bare.Pump.Cylinders},
			{Label: "Size:", Items: []string{"liner", "stroke", "connecting rod"}},
			{Label: "Now:", Items: []string{"strokes/min", "discharge", "suction"}},
		},
	}
	if b.duplex() {
		part.Blanks[4].Items = append(part.Blanks[4].Items, "piston rod")
	}
	works := doc.Part{Head: "Done lately (recent)"}
	for _, w := range b.book.Works.List {
		works.Boxes = append(works.Boxes, w.Title)
	}
	told := &doc.Table{Head: []string{"Work, and where", "Done", "Did it help?"}, Room: true}
	for range mostWorksTold {
		told.Rows = append(told.Rows, []doc.Cell{{}, {Boxes: []string{"before the trouble", "since"}}, {Boxes: []string{"yes", "no"}}})
	}
	manual := &doc.Table{Head: []string{"Figure", "Manual says", "Figure", "Manual says"}, Room: true}
	for _, l := range b.book.Limits.List {
		if last := len(manual.Rows) - 1; last >= 0 && manual.Rows[last][2].Text == "" {
			manual.Rows[last][2].Text = l.Title
		} else {
			manual.Rows = append(manual.Rows, doc.Cells(l.Title, "", "", ""))
		}
	}
	return doc.Section{Heading: "The pump", Parts: []doc.Part{part, works, {Text: []string{"Of each that was done (done, cured):"}, Table: told}, {Head: "From this pump's manual (manual)", Table: manual}}}
}

// mostWorksTold is how many works there is room for to say when they were done and
// whether they helped.
const mostWorksTold = 5

// gaugesHow says where the gauges before come from.
const gaugesHow = "Before: what she ran at while she was sound, from the tour sheet or the driller's log. Leave empty what nobody wrote down."

// gaugesBeforeAndNow has room for what the gauges said before the trouble and now.
func (b *blankSheet) gaugesBeforeAndNow() doc.Section {
	muds := doc.Blank{Label: "Mud (mud):"}
	for _, m := range b.book.Muds.List {
		muds.Boxes = append(muds.Boxes, m.Title)
	}
	rates := grid([]string{"", "Strokes/min", "Discharge"}, "slow", "fast")
	return doc.Section{Heading: "Gauges before and now (measured: before-and-now)", Parts: []doc.Part{
		{
			Text:   []string{gaugesHow},
			Blanks: []doc.Blank{{Label: "The drive is set (drive-setting):", Boxes: []string{"same", "changed"}}, muds},
			Table:  grid([]string{"", "Before the trouble", "Now"}, "Discharge", "Strokes/min", "Charge pressure", "Drive load, amps", "Mud weight"),
		},
		{Text: []string{"The sound pump at two rates, if they were written down (two-rates)"}, Table: rates, Half: true},
	}}
}

// signs lists the signs that can be looked at with the pump as it stands, a
// line for each kind, with a box for each place.
func (b *blankSheet) signs(heading string, needs ...rules.PumpNeed) doc.Section {
	t := &doc.Table{Head: []string{"Sign", "Seen", "Looked, not there"}, Flow: true}
	for _, sign := range b.book.Signs.List {
		if sign.Reckoned || !slices.Contains(needs, sign.Pump) || !sign.When.Holds(b.bare, b.book) {
			continue
		}
		boxes := b.places(sign.Level)
		t.Rows = append(t.Rows, []doc.Cell{{Text: sign.Title}, {Kinds: seen(sign, boxes)}, {Boxes: boxes}})
	}
	return tabled(heading+" (findings)", t)
}

// seen has the boxes of a sign, for each kind if it has any.
func seen(sign *rules.Sign, boxes []string) []doc.Kind {
	if len(sign.Kinds) == 0 {
		return []doc.Kind{{Boxes: boxes}}
	}
	var out []doc.Kind
	for _, kind := range sign.Kinds {
		k := doc.Kind{Text: kind.Title + ":", Boxes: boxes}
		if sign.Level == evidence.OfPump {
			k = doc.Kind{Boxes: []string{kind.Title}}
		}
		out = append(out, k)
	}
	return out
}

// places are the words behind the boxes of a sign; one box without a word for
// the whole pump.
func (b *blankSheet) places(level evidence.Level) []string {
	return doc.Each(b.bare.Pump.Places(level), evidence.Place.String)
}

// how says how a set of readings was taken.
func how(more ...doc.Blank) []doc.Blank {
	return append([]doc.Blank{
		{Label: "Taken with:", Items: []string{"instrument", "smallest step"}},
		{Label: "Each reading is:", Boxes: []string{"the nearest", "the largest leaf that enters"}},
	}, more...)
}

// mostTight is the letters of a name that stays on one line.
const mostTight = 16

// grid is a table with a first column of names and the rest open.
func grid(head []string, names ...string) *doc.Table {
	t := &doc.Table{Head: head, Room: true}
	for _, name := range names {
		row := make([]doc.Cell, len(head))
		row[0] = doc.Cell{Text: name, Tight: len(name) <= mostTight}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// cylinders names the pump's cylinders as headings do.
func (b *blankSheet) cylinders() []string {
	return doc.Each(b.bare.Pump.Cylinders, func(name string) string { return words.Capital(words.Cylinder(name)) })
}

// rodHow says how a rod is measured in its opening.
const rodHow = "Rods parted, crosshead seated on its lower guide. Turn by hand under the lock. Top and bottom must add up to the same at all three places, else read again."

func (b *blankSheet) rods() doc.Section {
	picture := drawing.BlankRod("rod-blank")
	s := doc.Section{Heading: "Rod in its opening (measured: rod-in-opening)", Parts: []doc.Part{
		{Text: []string{rodHow}, Figure: &picture},
		b.gauges("rod-centring"),
		{Blanks: how(), With: true},
	}}
	places := func() *doc.Table {
		return grid([]string{"Crosshead", "Top", "Bottom", "Left", "Right"}, "back", "middle", "front")
	}
	for _, c := range b.cylinders() {
		s.Parts = append(s.Parts, doc.Part{
			Head: c, With: true,
			Blanks: []doc.Blank{
				{Label: "Rod:", Boxes: []string{"parted", "joined", "crosshead seated", "not seated"}},
				{Label: "From the crosshead's centre at mid stroke to:", Items: []string{"opening", "second opening"}},
				{Label: "and to the guide's supports:", Items: []string{"rear", "front"}},
			},
		}, doc.Part{Text: []string{"Opening"}, Table: places(), Half: true}, doc.Part{Text: []string{"Second opening, if there is one"}, Table: places(), Half: true})
	}
	return s
}

func (b *blankSheet) guides() doc.Section {
	s := doc.Section{Heading: "Clearance over the crosshead (measured: upper-guide)"}
	t := grid([]string{"", "Rear left", "Rear right", "Middle left", "Middle right", "Front left", "Front right"}, b.cylinders()...)
	s.Parts = append(s.Parts, b.gauges("guide-clearance"), doc.Part{Blanks: how(), Table: t})
	return s
}

// gauges names what the readings of a check can be taken with.
func (b *blankSheet) gauges(check string) doc.Part {
	part := doc.List(gaugeLines(figures.Gauges(b.book.GaugesFor(check)))...)
	part.With = true
	if len(part.Items) > 0 {
		part.Text = []string{"What to measure with, and what each shows (judged, in a practised hand):"}
	}
	return part
}

func (b *blankSheet) shims() doc.Section {
	return tabled("Shims on hand (shims-on-hand)", &doc.Table{Head: []string{"Thickness", "Measures", "Pieces", "Thickness", "Measures", "Pieces"}, Room: true, Rows: doc.Rows(3, 6)})
}

func (b *blankSheet) faces() doc.Section {
	t := grid([]string{"", "Top", "Bottom", "Left", "Right"}, b.cylinders()...)
	return doc.Section{Heading: "Gaps at faces (measured)", Parts: []doc.Part{
		{Blanks: how(), With: true},
		{Text: []string{"Extension rod's face (rod-face-gap)"}, Table: t, Half: true},
		{Text: []string{"Fluid end to power end (fluid-end-gap)"}, Table: grid([]string{"", "Left", "Middle", "Right"}, "top", "bottom"), Half: true},
	}}
}

func (b *blankSheet) surveys() doc.Section {
	s := doc.Section{Heading: "Liners and rods (measured)"}
	names := []string{"Liner bore (liner-bore)", "Extension rod (extension-rod)"}
	if b.duplex() {
		names = append(names, "Piston rod (piston-rod)")
	}
	for _, name := range names {
		head := []string{"Station"}
		for _, c := range b.bare.Pump.Cylinders {
			head = append(head, c+": up-down", c+": across")
		}
		s.Parts = append(s.Parts, doc.Part{Head: name, Blanks: []doc.Blank{{Label: "Taken with:", Items: []string{"instrument", "smallest step", "size when new"}}}, Table: grid(head, "1", "2", "3", "4", "5")})
	}
	return s
}

func (b *blankSheet) tank() doc.Section {
	return doc.Section{Heading: "Tank test (measured: tank-test)", Parts: []doc.Part{{Whole: true, Blanks: []doc.Blank{
		{Label: "Strokes counted:", Items: []string{"", "may be off by"}}, {Label: "Volume moved:", Items: []string{"", "may be off by"}}, {Label: "At:", Items: []string{"strokes/min", "discharge"}},
	}}}}
}

func (b *blankSheet) suction() doc.Section {
	return doc.Section{Heading: "Suction (suction-line)", Parts: []doc.Part{
		{Blanks: []doc.Blank{
			{Label: "Mud:", Items: []string{"weight", "above the pump", "or below it"}}, {Label: "Charge pressure at the pump:", Items: []string{""}},
			{Label: "Head lost to friction:", Items: []string{""}}, {Label: "Head the pump needs (manual):", Items: []string{""}},
		}, Table: grid([]string{"Pipe", "Length", "Bore"}, "1", "2", "3")},
	}}
}

func (b *blankSheet) parts() doc.Section {
	t := &doc.Table{Head: []string{"Part, place", "Record from", "to", "Changed at (pump hours)"}, Room: true, Rows: doc.Rows(8, 4)}
	return doc.Section{Heading: "Record of changed parts (parts)", Parts: []doc.Part{{Text: []string{"Pump hours at each change. Parts changed as a set are not failures of their own: write the one that failed."}, Table: t}}}
}

func (b *blankSheet) names() doc.Section {
	return tabled("Who takes the readings", grid([]string{"", "Name", "Signature", "Date, time"}, "Taken by", "Second person"))
}
