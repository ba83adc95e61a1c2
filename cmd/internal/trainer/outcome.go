package trainer

import (
	"strings"

	"telltale/cmd/internal/prompt"
	"telltale/cmd/internal/words"
	"telltale/engine/practice"
	"telltale/evidence"
)

// did takes an action and says what came of it.
func (x *Exercise) did(a practice.Action) ([]prompt.Line, error) {
	out := x.s.Do(a)
	switch {
	case out.Cannot != "":
		return []prompt.Line{text("%s", out.Cannot)}, nil
	case out.Refused != nil:
		return x.refused(out.Refused), nil
	}
	switch a.Do {
	case practice.Safety:
		g := x.book.Safety.Get(a.ID)
		return []prompt.Line{text("Done, %s: %s", words.Minutes(g.Minutes), x.s.Text(g.Do))}, nil
	case practice.Open:
		o := x.book.Openings.Get(a.ID)
		return []prompt.Line{text("Open, %s: %s", words.Minutes(o.Minutes), x.s.Text(o.Do))}, nil
	case practice.Look:
		return x.findings(out.Seen), nil
	case practice.Check:
		return x.checked(a, out)
	}
	return nil, nil
}

// mostTold is how many missing steps are explained with their text.
const mostTold = 2

// refused explains why a step was stopped.
func (x *Exercise) refused(f *practice.Fault) []prompt.Line {
	head, end := "Stopped: this is not safe yet", "The exercise counts as failed. Go on for practice."
	if !f.Danger {
		head, end = "Stopped: something else comes first", "It puts nobody in danger. It does not count against you."
	}
	out := []prompt.Line{{Kind: prompt.Head, Text: head}, below("%s was not done. First:", x.titledOrTitle(f.Action))}
	for i, n := range f.Missing {
		text := words.Titled(x.s.Text(n.Title), n.Place)
		if i < mostTold {
			text += ". " + x.s.Text(n.Why)
		}
		out = append(out, prompt.Line{Kind: prompt.Item, Text: text})
	}
	return append(out, below("%s", end))
}

// titledOrTitle names what a choice is about.
func (x *Exercise) titledOrTitle(a practice.Action) string {
	name := x.titled(a.Do, a.ID, a.Place)
	if a.Do == practice.Root {
		name += ", behind: " + x.titled(practice.Name, a.Of.ID, a.Of.Place)
	}
	return name
}

// checked tells the result of a check; where a rod stands low or high its shim is
// asked for before the rest is told.
func (x *Exercise) checked(a practice.Action, out practice.Outcome) ([]prompt.Line, error) {
	c := x.book.Checks.Get(a.ID)
	lines := append([]prompt.Line{text("Done, %s: %s", words.Minutes(c.Minutes), x.s.Text(c.Do))}, x.findings(out.Seen)...)
	shows := []prompt.Line{below("No cause is proved by it.")}
	for i, at := range out.Found {
		shows = append(shows[:i], below("It shows: %s.", x.titled(practice.Name, at.ID, at.Place)))
	}
	if out.Rod == nil {
		return append(lines, shows...), nil
	}
	for _, line := range []struct {
		name string
		at   [3]int
	}{{"above", out.Rod.Top}, {"below", out.Rod.Bottom}} {
		lines = append(lines, below("Clearance %s the rod, thou: back %d, middle %d, front %d", line.name, line.at[0], line.at[1], line.at[2]))
	}
	if !out.Rod.Low && !out.Rod.High {
		return append(lines, shows...), nil
	}
	q := &shimQuestion{rod: out.Rod, shows: shows}
	var err error
	q.shim, q.title, q.known, err = practice.ShimFor(x.book, x.s.Case().Pump, *out.Rod)
	x.asked = q
	return lines, err
}

// shimQuestion is a rod whose shim is asked for before the tool's own is told.
type shimQuestion struct {
	rod   *practice.RodReading
	shim  float64 // thou
	title string
	known bool // the tool gives one
	shows []prompt.Line
}

// askShim asks for the shim of the rod that was measured.
func (x *Exercise) askShim() turn {
	q := x.asked
	entry := &prompt.Entry{Blank: "for no answer", Of: evidence.Length, Unit: "thou"}
	p := prompt.Prompt{ID: "shim", Ask: "Shim under both ends of the lower guide, in thou? Take out: with a minus sign.", Entry: entry}
	return turn{Prompt: p, Take: func(a prompt.Answer) turn {
		return prompt.End(deed(func() ([]prompt.Line, error) {
			x.asked = nil
			if !q.known {
				return append([]prompt.Line{below("The tool gives no thickness here: %s.", q.title)}, q.shows...), nil
			}
			x.shimsAsked++
			word := "Not so."
			if given, problem := entry.Read(a.Text); a.Text != "" && problem == nil && given > q.shim-shimWithin && given < q.shim+shimWithin {
				x.shims++
				word = "Right."
			}
			return append([]prompt.Line{below("%s Half of (above less below) is %.0f thou. %s.", word, q.shim, strings.TrimSuffix(q.title, "."))}, q.shows...), nil
		}))
	}}
}

// Rod is the rod whose shim is asked for; nil if none is.
func (x *Exercise) Rod() *practice.RodReading {
	if x.asked == nil {
		return nil
	}
	return x.asked.rod
}

// shimWithin is how near an answer must be, in thou.
const shimWithin = 1.0
