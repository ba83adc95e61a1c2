package trainer

import (
	"fmt"
	"math"
	"strings"
	"time"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/pages"
	"telltale/cmd/internal/prompt"
	"telltale/cmd/internal/words"
	"telltale/engine"
	"telltale/engine/practice"
	"telltale/engine/work"
)

// Page is the page of an exercise that was judged.
func (x *Exercise) Page(written time.Time) *doc.Document {
	lines := x.about()
	in := pages.PracticeInput{Title: lines[0], Lines: lines[1:], Causes: x.hidden(x.judged), Plan: x.plan(), Written: written}
	for _, l := range x.tell(x.judged) {
		if l.Kind == prompt.Head {
			in.Told = append(in.Told, doc.Section{Heading: l.Text, Parts: []doc.Part{{}}})
			continue
		}
		part := &in.Told[len(in.Told)-1].Parts[0]
		part.Text = append(part.Text, strings.TrimSpace(l.Mark+" "+l.Text))
	}
	return pages.Practice(in)
}

// hidden gives the hidden causes with what moved them.
func (x *Exercise) hidden(r *practice.Review) []words.Weighed {
	var out []words.Weighed
	for _, c := range r.Chains {
		at := c.Cause.Place
		cause := words.Weighed{Title: x.s.Title(practice.Name, c.Cause.ID), Place: at, Chance: c.Start}
		for _, l := range c.Links {
			cause.Chance = l.Chance
			reason := words.Weight{Text: x.linkText(l), Decibans: l.Decibans}
			switch {
			case math.Abs(l.Decibans) < leastTold:
			case l.Decibans > 0:
				cause.For = append(cause.For, reason)
			default:
				cause.Against = append(cause.Against, reason)
			}
		}
		out = append(out, cause)
	}
	return out
}

// plan is the tool's list for what the crew told; nil if it could not be
// weighed or has no check.
func (x *Exercise) plan() *engine.Report {
	r, err := engine.Outline(x.book, practice.Begin(x.s.World).Case())
	if err != nil {
		return nil
	}
	for _, s := range r.Steps {
		if s.Kind == work.StepCheck {
			return r
		}
	}
	return nil
}

// planned says how soon the tool's list would have found the trouble.
func (x *Exercise) planned() told {
	var t told
	r := x.plan()
	if r == nil {
		return t
	}
	t.below("Chance that the trouble is found by the end of each check:")
	more, sure := 0, false
	for _, s := range r.Steps {
		switch {
		case s.Kind != work.StepCheck:
		case sure:
			more++
		default:
			t.item("", fmt.Sprintf("%s in %s: %s", words.Percent(s.FoundByHere), words.Minutes(math.Round(s.MinutesByHere)), words.Titled(s.Title, s.Place)))
			sure = words.Percent(s.FoundByHere) == words.Percent(1)
		}
	}
	if more > 0 {
		t.below("Checks that stand behind these in its list: %d.", more)
	}
	return t
}
