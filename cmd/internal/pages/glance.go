package pages

import (
	"cmp"
	"fmt"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/words"
	"telltale/engine"
	"telltale/engine/chances"
)

// A window of 24 lines and 80 columns, in which the prompt takes a line.
const (
	glanceLines = 23
	glanceWidth = 80
)

// governs is what governs, in one line.
const governs = "Manual, isolation procedure, local rules and licensed practice govern."

// extra is what the short page says only where it has room for it, what is worth
// most first.
type extra int

const (
	theRoot   extra = iota
	theNone         // the share of none of the causes
	theWrong        // what would prove the first cause wrong
	theReason       // of the verdict, but where the stop box is the reason
	theQuestion
	notFitting
	unexplained
	secondTrouble // or what it is if it is not the first
	whyReason     // why the reason hurries
	hangingLocks
	nearRatings
	theNotes
	failedWith
	thirdTrouble
	stepWords
	allGoverns
	emptyLines
	extras // how many there are
)

// glance is the short page with the extras that it shows.
type glance struct {
	*engine.Report
	more  string
	shows [extras]bool
}

// Glance is the answer to a case in one window: the stop conditions whole, how
// long it can wait, what is next, what failed, and the best question. more says
// where the rest is; empty where that is said beside the page. Where the stop
// conditions leave too little room, the page is longer.
func Glance(r *engine.Report, more string) *doc.Document {
	g := &glance{Report: r, more: more}
	for x := range g.shows {
		g.shows[x] = true
		g.shows[x] = g.fits()
	}
	return g.page()
}

// fits says whether the page is one window.
func (g *glance) fits() bool {
	var text strings.Builder
	err := g.page().Text(&text, glanceWidth)
	return err == nil && strings.Count(text.String(), "\n") <= glanceLines
}

func (g *glance) page() *doc.Document {
	d := &doc.Document{Title: pumpLines(g.Report)[0], Dense: !g.shows[emptyLines]}
	if g.Rulebook.Local != nil {
		d.Lines = []string{bookLine(g.Report)}
	}
	d.Add(stops(g.Report), g.wait(), g.next())
	if !g.LeavePump {
		d.Add(g.failed(), g.question())
	}
	var left []string
	for _, b := range g.besides() {
		if n := len(b.Parts[0].Items); n > 0 && !g.shows[b.extra] {
			left = append(left, fmt.Sprintf("%s (%d)", strings.ToLower(b.Heading), n))
			continue
		}
		d.Add(b.Section)
	}
	d.Add(doc.Section{
		Heading: doc.If(g.more != "", "Where the rest is"), Aside: doc.If(g.more != "", ": "+g.more),
		Parts: []doc.Part{doc.Text(doc.If(len(left) > 0, "Not on this page: "+strings.Join(left, "; ")+"."), cmp.Or(doc.If(g.shows[allGoverns], Govern), governs))},
	})
	return d
}

// wait is the verdict with its first reason.
func (g *glance) wait() doc.Section {
	h := g.Haste
	if h == nil {
		return doc.Section{}
	}
	line := h.Says
	for _, reason := range h.Because[:min(len(h.Because), 1)] {
		if !g.shows[whyReason] {
			reason.Because = ""
		}
		line = together(line, doc.If(g.shows[theReason] && reason.Stop == "", hasteReason(reason)))
	}
	return doc.Section{Heading: hasteHead, Parts: []doc.Part{doc.Text(line)}}
}

// next is the next act, and the first check.
func (g *glance) next() doc.Section {
	var line string
	switch steps := firstSteps(g.Report, g.shows[stepWords]); {
	case len(g.Stop) > 0:
		line = together("First all of the stop box, line by line.", steps)
	case len(g.Steps) == 0 && g.Closed:
		line = nothingLeft
	default:
		line = cmp.Or(together(doc.If(UntilItStands(g.Report) != "", tellNow), correctLine(g.Report), steps), noSteps(g.Report))
	}
	return doc.Section{Heading: "Do next", Parts: []doc.Part{doc.Text(line)}}
}

// failed tells the troubles in a few lines.
func (g *glance) failed() doc.Section {
	var items []doc.Item
	for i := range g.Troubles {
		t := &g.Troubles[i]
		if i == 1 && !g.shows[secondTrouble] || i == 2 && !g.shows[thirdTrouble] {
			break
		}
		first, alone := t.Failed[0], standsAlone(t)
		item := behind(failedLead(first, alone), toldCause(first))
		if g.shows[theRoot] && !alone {
			item.Below = append(item.Below, behind(broughtLead(t, "likeliest "), likeliestRoot(g.Report, t)))
		}
		if g.shows[theWrong] && i == 0 {
			item.Below = append(item.Below, doc.Items(wrongLine(t))...)
		}
		items = append(items, item)
		if i > 0 {
			continue
		}
		if with := toldFew(t.Failed[1:]); len(with) > 0 && g.shows[failedWith] {
			items = append(items, behind(withLead(t.Failed[1:]), with[0]))
		}
		if or := toldFew(others(g.Report, t)); len(or) > 0 && len(g.Troubles) == 1 && !first.Proved && g.shows[secondTrouble] {
			items = append(items, behind("If it is not that:", or[0]))
		}
	}
	none := doc.If(len(items) > 0 && g.shows[theNone], "None of the rulebook's causes: "+noneShare(g.Report)+".")
	return doc.Section{Heading: failedHead, Parts: []doc.Part{{Items: items}, doc.Text(none)}}
}

// likeliestRoot is the root that is told first, or that nothing deeper is
// likelier.
func likeliestRoot(r *engine.Report, t *chances.Trouble) doc.Item {
	if roots := shownRoots(t); len(roots) > 0 && roots[0].Probability >= t.ByItself {
		return rootLine(r, words.AlikeRoots(roots)[0])
	}
	return doc.Item{Text: nothingDeeper(t)}
}

// question is the one that tells most.
func (g *glance) question() doc.Section {
	s := ask(g.Report)
	if len(s.Parts[0].Items) == 0 || !g.shows[theQuestion] {
		return doc.Section{}
	}
	return doc.Section{Heading: s.Heading, Parts: []doc.Part{doc.Text(s.Parts[0].Items[0].Text)}}
}

// beside is a list that stands on the page only where there is room.
type beside struct {
	extra
	doc.Section
}

// besides are the lists whose lines are counted where they are left out.
func (g *glance) besides() []beside {
	out := []beside{{notFitting, contradictions(g.Report)}, {hangingLocks, locks(g.Report)}}
	if !g.LeavePump {
		out = append(out, beside{unexplained, doc.Section{Heading: "Not explained by what is proved", Parts: []doc.Part{doc.List(words.Unexplained(g.Report)...)}}}, beside{nearRatings, ratings(g.Report)})
	}
	return append(out, beside{theNotes, doc.Section{Heading: "Notes", Parts: []doc.Part{doc.List(g.Notes...)}}})
}
