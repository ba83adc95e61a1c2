package pages

import (
	"fmt"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/words"
	"telltale/engine"
	"telltale/engine/work"
)

// Teardown is the plan of a teardown: what it is for, how far it goes, what is
// at hand before it starts, the steps, and how it is closed again.
func Teardown(t *engine.Teardown) *doc.Document {
	r := t.Report
	d := begin("TEARDOWN PLAN. ", r)
	d.Add(before(r)...)
	if t.LeavePump {
		d.Add(notes())
		return d
	}
	d.Add(
		ratings(r), troubles(r, true), whatFor(t), howFar(t), timeAndHands(t), tell(t), atHand(t), looks(t), corrections(t), whileOpen(t), whomToAsk(t),
		doc.Section{Heading: closeUp(r), Parts: planned{t}.list(returning)},
		notes("Times are judged. The repair itself is not in them."),
	)
	return d
}

// mostTargets keeps the head of a plan short; JSON has all.
const mostTargets = 6

func whatFor(t *engine.Teardown) doc.Section {
	part := proved(t.Report)
	for _, f := range t.For[:min(len(t.For), mostTargets)] {
		part.Items = append(part.Items, behind(words.Capital(words.Likely(f.Chance))+":", of(words.Titled(f.Title, f.Place), "cause", f.Cause, f.Title)))
	}
	line := ""
	switch {
	case len(t.For) > mostTargets:
		line = fmt.Sprintf("and %d more", len(t.For)-mostTargets)
	case len(t.For) > 0:
	case firstCheck(t.Report) != nil:
		line = "No single cause stands out. The checks look for many unlikely ones."
	case len(t.Confirmed) > 0:
		line = "No other cause is likely enough to look for."
	default:
		line = "No cause is likely enough to open the pump for."
	}
	part.Items = append(part.Items, doc.Items(line)...)
	return doc.Section{Heading: "What for", Parts: []doc.Part{doc.Text(doc.If(t.Named, "The causes were named; their chances are those of the ranking.")), part}}
}

func howFar(t *engine.Teardown) doc.Section {
	var lines []string
	for _, o := range t.Opens {
		how := "open already"
		if o.Step > 0 {
			how = fmt.Sprintf("step %d, %s, %s", o.Step, words.Minutes(o.Minutes), words.People(o.Hands))
		}
		lines = append(lines, bracketed(words.Titled(o.Title, o.Place), how))
	}
	part := doc.List(lines...)
	if len(lines) == 0 {
		part = doc.Text("Nothing is opened by this plan.")
	}
	return doc.Section{Heading: "How far to open", Parts: []doc.Part{part}}
}

func timeAndHands(t *engine.Teardown) doc.Section {
	closing := doc.If(t.Times.Closing > 0, fmt.Sprintf(" Closing up and return: %s.", words.Minutes(t.Times.Closing)))
	part := doc.Text(fmt.Sprintf("There is nothing to look for.%s Hands: %s.", closing, words.People(t.Hands)))
	if firstCheck(t.Report) != nil {
		part = doc.Text(
			fmt.Sprintf("To the cause: %s on average; %s to the end of the %s, %s for the whole list.%s",
				words.Minutes(t.Times.ToCause), words.Minutes(t.Times.Quickest), firstLook(t), words.Minutes(t.Times.Whole), closing),
			fmt.Sprintf("The whole job without the repair: %s if it goes well and that check shows it, up to %s if it goes badly and nothing is found. Hands: %s.",
				words.Minutes(t.Times.Low), words.Minutes(t.Times.High), words.People(t.Hands)))
		if t.Order != nil {
			part.Text = append(part.Text, orderLine(t.Order))
		}
	}
	return doc.Section{Heading: "Time and hands", Parts: []doc.Part{part}}
}

// firstLook names the check that Times.Quickest is reckoned to.
func firstLook(t *engine.Teardown) string {
	for _, s := range t.Steps {
		if s.Kind == work.StepCheck && s.Pump == "isolated" {
			return "first check behind the isolation"
		}
	}
	return "first check"
}

func tell(t *engine.Teardown) doc.Section {
	items := doc.Each(t.Told, func(who work.Told) doc.Item {
		return doc.Item{Box: doc.ToTick, Strong: who.Who + ":", Text: who.Of}
	})
	return doc.Section{Heading: "Tell before you start", Parts: []doc.Part{{Items: items}}}
}

// atHand lists tools, spares and what opening uses up.
func atHand(t *engine.Teardown) doc.Section {
	var out []doc.Item
	if len(t.Tools) > 0 {
		out = append(out, doc.Item{Strong: "Tools:", Text: strings.Join(t.Tools, ", ") + "."})
	}
	if len(t.RepairTools) > 0 {
		out = append(out, doc.Item{Strong: "For the repair also:", Text: strings.Join(t.RepairTools, ", ") + "."})
	}
	out = append(out, spares(t)...)
	out = append(out, doc.Item{Text: fmt.Sprintf("The chance is that the repair takes the part. Parts under %s are not listed, but those of what is proved.", share(t.SpareFrom))})
	return doc.Section{Heading: "Have at hand", Parts: []doc.Part{{Items: out}}}
}

// spares has a line to tick for each part that is to be at hand: what opening
// uses up, what the repair may take with its chance, and what is past its life.
func spares(t *engine.Teardown) []doc.Item {
	var out []doc.Item
	for _, s := range t.Consumed {
		out = append(out, doc.Item{Box: doc.ToTick, Strong: "New in any case:", Text: spareText(s)})
	}
	for _, s := range t.Spares {
		out = append(out, doc.Item{Box: doc.ToTick, Strong: words.Capital(words.Likely(s.Chance)) + ":", Text: spareText(s), Below: doc.Items(besidesText(s))})
	}
	for _, w := range t.Worn {
		out = append(out, doc.Item{Box: doc.ToTick, Strong: "Past its life:", Text: words.Titled(w.Title, w.Place)})
	}
	return out
}

// spareText names a part with the places where it is needed.
func spareText(s work.Spare) string {
	return words.AtAll(s.Title, s.Places)
}

// besidesText says what must be opened besides to fit a part; empty if the
// plan gets at it.
func besidesText(s work.Spare) string {
	var list []string
	for _, o := range s.OpenBesides {
		list = append(list, fmt.Sprintf("%s (%s with closing, %s)", words.Titled(o.Title, o.Place), words.Minutes(o.Minutes), words.People(o.Hands)))
	}
	return doc.If(len(list) > 0, "To fit it, open also: "+strings.Join(list, "; "))
}

// looks has the steps up to the last check, and when to leave them.
func looks(t *engine.Teardown) doc.Section {
	when := doc.Text(doc.If(firstCheck(t.Report) != nil, whenFound))
	return doc.Section{Heading: "Isolate and open, then look, in this order", Parts: append([]doc.Part{when}, planned{t}.list(looking)...)}
}

// corrections repeats what the measurements of the case call for, with the sums
// and steps of the shims that are planned.
func corrections(t *engine.Teardown) doc.Section {
	s := doc.Section{Heading: "Corrections from what was measured"}
	if t.Measured == nil {
		return s
	}
	for _, c := range t.Measured.Centring {
		s.Parts = append(s.Parts, doc.List(centringLine(c)))
	}
	for i := range t.Measured.Centring {
		if c := &t.Measured.Centring[i]; len(c.Procedures) > 0 {
			s.Parts = append(append(s.Parts, sums(c)...), procedures(c)...)
		}
	}
	return s
}

func whileOpen(t *engine.Teardown) doc.Section {
	part := doc.Text(doc.If(len(t.WhileOpen) > 0, "Nothing more is opened for these. They are not in the steps."))
	for _, w := range t.Worn {
		part.Items = append(part.Items, doc.Item{Box: doc.ToTick, Text: wornText(w)})
	}
	for _, e := range t.WhileOpen {
		part.Items = append(part.Items, doc.Item{Box: doc.ToTick, Strong: words.Titled(e.Title, e.Place) + ".", Text: extraText(e)})
	}
	return doc.Section{Heading: "While it is open, also worth a look", Parts: []doc.Part{part}}
}

// wornText says how long a part has run past its life.
func wornText(w work.Worn) string {
	life := "its expected life is " + words.Significant(w.Life, 3) + " h"
	if w.By == "median" {
		life = "by the record half of them have failed by " + words.Significant(w.Life, 3) + " h"
	}
	return fmt.Sprintf("%s has run %s h; %s. Nothing more to open: change it now.", words.Titled(w.Title, w.Place), words.Significant(w.Hours, 3), life)
}

// extraText says what a look while it is open costs now and later, and what it
// looks for.
func extraText(e work.Extra) string {
	return fmt.Sprintf("%s now; coming back for it would take %s. Chance that it shows something: %s.", words.Minutes(e.Minutes), words.Minutes(e.ComeBack), words.Percent(e.Chance)) +
		doc.If(e.Pays, " By these figures it pays to do it now.") + " Look for: " + strings.Join(e.Looks, "; ") + "."
}

func whomToAsk(t *engine.Teardown) doc.Section {
	part := doc.Part{}
	for _, a := range t.AskInstead {
		part.Items = append(part.Items, doc.Item{Strong: a.If + ":", Text: a.Ask})
	}
	part.Columns = inColumns(part.Items)
	return doc.Section{Heading: "When to stop, and whom to ask", Keep: true, Parts: []doc.Part{part}}
}
