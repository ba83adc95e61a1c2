package pages

import (
	"cmp"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/words"
	"telltale/engine"
	"telltale/engine/chances"
	"telltale/engine/figures"
	"telltale/evidence"
	"telltale/rules"
)

// Govern is printed on every page.
const Govern = "This pump's manual, the site's isolation procedure, local rules and licensed practice govern. " +
	"Do not carry an unrated device into a hazardous area: print this page."

// Input is what a page of a case is made from, as far as the page needs it.
type Input struct {
	Book     *rules.Book
	Case     *evidence.Case
	Plan     *engine.Teardown
	Measured *engine.Report // what the readings and the pump's size come to
	Turn     *figures.Turn  // load of the guides; nil if not known
	Written  time.Time      // for paper: zero if it is not said
}

// begin starts the page of a report with what it is, the pump, and the rulebook.
func begin(kind string, r *engine.Report) *doc.Document {
	lines := append(pumpLines(r), bookLine(r))
	return &doc.Document{Title: kind + lines[0], Lines: lines[1:]}
}

// begin starts the page of a case; on paper it says also which case, when it was
// written, and what governs.
func (in *Input) begin(kind string, r *engine.Report) *doc.Document {
	d := begin(kind, r)
	if in.Written.IsZero() {
		return d
	}
	file, when, book := filepath.Base(in.Case.File), evidence.When(in.Written), len(d.Lines)-1
	d.Lines = append(d.Lines[:book], "Case: "+file+". Written: "+when+". "+d.Lines[book]+".", Govern)
	d.Foot = doc.SafeFoot(cmp.Or(r.Pump.Name, "Pump"), 40) + " - " + doc.SafeFoot(file, 40) + " - " + doc.SafeFoot(when, 40) + " - rulebook " + doc.SafeFoot(r.Rulebook.Digest, 12)
	if local := r.Rulebook.Local; local != nil {
		d.Foot += " + local " + doc.SafeFoot(local.Digest, 12)
	}
	return d
}

// pumpLines describes the pump in a few lines.
func pumpLines(r *engine.Report) []string {
	p := r.Pump
	said := func(label, value string) string { return doc.If(value != "", label+value) }
	sizes := doc.Said(said("liner ", p.Liner), said("stroke ", p.Stroke), said("speed ", p.Speed), said("discharge ", p.Discharge), doc.If(p.Rotation != "unknown", "rotation "+p.Rotation))
	return doc.Said(
		fmt.Sprintf("%s: %s, %s", cmp.Or(p.Name, "Pump"), words.Pump(p.Action), p.State), strings.Join(sizes, ", "),
		said("Done lately: ", strings.Join(p.Recent, "; ")), said("Done already: ", strings.Join(p.Open, "; ")))
}

func bookLine(r *engine.Report) string {
	return fmt.Sprintf("Rulebook: %s, version %s, digest %s", r.Rulebook.Name, r.Rulebook.Version, r.Rulebook.Digest) + localLine(r.Rulebook.Local)
}

// localLine names the local book over the rulebook; empty if there is none.
func localLine(local *engine.LocalReport) string {
	if local == nil {
		return ""
	}
	return fmt.Sprintf("; changed by the local book %s, version %s, digest %s", local.Name, local.Version, local.Digest) +
		doc.If(local.Calls > 0, fmt.Sprintf("; %d closed calls of the rig stand behind it", local.Calls))
}

// Stops is the page of the stop conditions alone, for when nothing else can be
// said.
func Stops(r *engine.Report) *doc.Document {
	d := &doc.Document{}
	d.Add(stops(r), haste(r))
	return d
}

// StopsOfNote is what a note says before all else: the stop conditions that hold
// with what to do, else the verdict where it is to stop now, then the stop
// conditions that hold if what was told and is not written is so.
func StopsOfNote(r *engine.Report, ifSo []chances.Stop) *doc.Document {
	d := &doc.Document{}
	if len(r.Stop) == 0 && r.Haste != nil && r.Haste.Verdict == string(rules.StopNow) {
		d.Add(doc.Section{Heading: hasteHead, Panel: true, Parts: []doc.Part{doc.List(r.Haste.Says, doc.If(r.Pump.State == string(evidence.Running), tellNow))}})
	}
	d.Add(stops(r), doc.Section{Heading: "Stop first if it is so", Panel: true, Parts: stopParts(ifSo, doc.NoBox, "")})
	return d
}

// before is what comes before everything else on a page, also while the pump
// waits.
func before(r *engine.Report) []doc.Section {
	return []doc.Section{stops(r), haste(r), locks(r), contradictions(r)}
}

// stops has the stop conditions, which come before everything else.
func stops(r *engine.Report) doc.Section {
	return doc.Section{Heading: "Stop first", Panel: true, Parts: stopParts(r.Stop, doc.NoBox, "")}
}

// stopParts has the stop conditions with what to do about each.
func stopParts(stops []chances.Stop, box doc.Box, lead string) []doc.Part {
	var out []doc.Part
	for _, stop := range stops {
		part := doc.Part{Signal: stop.Signal, Head: lead + stopTitle(stop), Items: doc.Items(stop.Do...)}
		for i := range part.Items {
			part.Items[i].Box = box
		}
		out = append(out, part)
	}
	return out
}

func stopTitle(s chances.Stop) string {
	return strings.ToUpper(rules.StopBy(s.By).Words()) + ": " + s.Title
}

// StopHead names a stop condition with its signal word and with when the pump
// is stopped for it.
func StopHead(s chances.Stop) string { return strings.ToUpper(s.Signal) + ", " + stopTitle(s) }

// locks has the locks and what stays open, as the case has them.
func locks(r *engine.Report) doc.Section {
	part := doc.List(lockLines(r)...)
	if len(part.Items) > 0 {
		part.Text = []string{"Each takes off his own lock. Nobody takes off another's. See for yourself that it is so."}
	}
	return doc.Section{Heading: "Locks, and what stays open, by the case", Parts: []doc.Part{part}}
}

// lockLines has one line for each lock and each thing that stays open, those
// that hang or stand open first.
func lockLines(r *engine.Report) []string {
	var now, over []string
	add := func(holds bool, text string) {
		if holds {
			now = append(now, text)
		} else {
			over = append(over, text)
		}
	}
	for _, l := range r.Locks {
		add(l.Hangs, l.Text)
	}
	for _, o := range r.StaysOpen {
		add(o.Open, o.Text)
	}
	return append(now, over...)
}

// contradictions has what speaks against each other in the case.
func contradictions(r *engine.Report) doc.Section {
	return doc.Section{Heading: "Does not fit together", Parts: []doc.Part{doc.List(doc.Each(r.Contradictions, words.Contradiction)...)}}
}

// notes ends a page: what is to be known of its figures, and what governs.
func notes(lines ...string) doc.Section {
	return doc.Section{Heading: "Notes", Parts: []doc.Part{doc.List(append(slices.Clip(lines), Govern)...)}}
}

// proved says what was proved, what to do about each, and what it leaves
// unexplained.
func proved(r *engine.Report) doc.Part {
	out := doc.Part{Items: doc.Each(r.Confirmed, func(c chances.Confirmed) doc.Item {
		item := behind("PROVED:", of(words.Titled(c.Title, c.Place), "cause", c.Cause, c.Title))
		item.Below = provedFacts(c)
		return item
	})}
	for _, text := range words.Unexplained(r) {
		out.Items = append(out.Items, doc.Item{Strong: "Not explained by what is proved:", Text: text})
	}
	if len(r.Confirmed) > 0 && len(r.Unexplained) == 0 && slices.ContainsFunc(r.Found, func(f chances.Finding) bool { return f.Answer == "present" }) {
		out.Items = append(out.Items, doc.Item{Text: "This more likely than not explains each sign that was seen."})
	}
	return out
}

// provedFacts is what is said of a proved cause, in this order.
func provedFacts(c chances.Confirmed) []doc.Item {
	var left []doc.Item
	if len(c.RootsLeft) > 0 {
		lead := "Root not looked at yet:"
		if c.RootLeft {
			lead = "Root not looked at; the crew said yes to leaving it:"
		}
		left = []doc.Item{{Strong: lead, Text: strings.Join(words.Roots(c.RootsLeft), "; ") + ".", To: doc.Each(c.RootsLeft, func(root chances.Root) doc.Ref { return titled("cause", root.Cause, root.Title) })}}
	}
	switch {
	case c.LookedAgain:
		return append([]doc.Item{{Strong: "Done:", Text: "Corrected, and right when it was looked at again."}}, left...)
	case c.Corrected:
		return append([]doc.Item{{Strong: "Done:", Text: "Corrected. Still to be looked at again: " + c.LookAgain}}, left...)
	}
	out := []doc.Item{{Strong: "Repair:", Text: BehindWords(c) + " " + c.Repair}, {Strong: "Then:", Text: c.LookAgain}}
	if len(c.Parts) > 0 {
		out = append(out, doc.Item{Strong: "Parts:", Text: strings.Join(c.Parts, ", ") + "."})
	}
	if len(c.BringsOn) > 0 {
		out = append(out, doc.Item{Strong: "Brings on:", Text: strings.Join(c.BringsOn, "; ") + "."})
	}
	return append(out, left...)
}

// BehindWords says what the repair of a proved cause is done behind.
func BehindWords(c chances.Confirmed) string {
	var first []string
	for _, g := range c.Safety {
		first = append(first, g.Title)
	}
	return rules.Behind(c.Behind).Words(first)
}
