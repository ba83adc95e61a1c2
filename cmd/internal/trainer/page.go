package trainer

import (
	"fmt"
	"math"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/prompt"
	"telltale/cmd/internal/words"
	"telltale/engine"
	"telltale/engine/practice"
)

// Over is an exercise that is over, to be laid out on a page.
type Over struct {
	Title  string
	Lines  []string
	Told   []doc.Section   // what was said when it was over
	Causes []words.Weighed // the hidden causes with what spoke for and against them
	Plan   *engine.Report  // the tool's list at the start; nil if there was none
}

// Over gives an exercise that was judged.
func (x *Exercise) Over() *Over {
	lines := x.about()
	out := &Over{Title: lines[0], Lines: lines[1:], Causes: x.hidden(x.judged), Plan: x.plan()}
	for _, l := range x.tell(x.judged) {
		if l.Kind == prompt.Head {
			out.Told = append(out.Told, doc.Section{Heading: l.Text, Parts: []doc.Part{{}}})
			continue
		}
		part := &out.Told[len(out.Told)-1].Parts[0]
		part.Text = append(part.Text, strings.TrimSpace(l.Mark+" "+l.Text))
	}
	return out
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
		if s.Kind == engine.StepCheck {
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
	for _, s := range r.Steps {
		if s.Kind == engine.StepCheck {
			t.item("", fmt.Sprintf("%s in %s: %s", words.Percent(s.FoundByHere), words.Minutes(math.Round(s.MinutesByHere)), words.Titled(s.Title, s.Place)))
		}
	}
	return t
}
