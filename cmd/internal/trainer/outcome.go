package trainer

import (
	"strconv"
	"strings"

	"telltale/cmd/internal/words"
	"telltale/engine/practice"
)

// did takes an action and says what came of it.
func (x *Exercise) did(a practice.Action) error {
	out := x.s.Do(a)
	switch {
	case out.Cannot != "":
		return x.say("%s", out.Cannot)
	case out.Refused != nil:
		return x.refused(out.Refused)
	}
	switch a.Do {
	case practice.Safety:
		g := x.book.Safety.Get(a.ID)
		return x.say("Done, %s: %s", words.Minutes(g.Minutes), x.s.Text(g.Do))
	case practice.Open:
		o := x.book.Openings.Get(a.ID)
		return x.say("Open, %s: %s", words.Minutes(o.Minutes), x.s.Text(o.Do))
	case practice.Look:
		return x.findings(out.Seen)
	case practice.Check:
		return x.checked(a, out)
	}
	return nil
}

// mostTold is how many missing steps are explained with their text.
const mostTold = 2

// refused explains why a step was stopped.
func (x *Exercise) refused(f *practice.Fault) error {
	head, end := "Stopped: this is not safe yet", "The exercise counts as failed. Go on for practice."
	if !f.Danger {
		head, end = "Stopped: something else comes first", "It puts nobody in danger. It does not count against you."
	}
	if err := x.term.Head(head); err != nil {
		return err
	}
	if err := x.below("%s was not done. First:", x.titledOrTitle(f.Action)); err != nil {
		return err
	}
	for i, n := range f.Missing {
		text := x.titledNeed(n)
		if i < mostTold {
			text += ". " + x.s.Text(n.Why)
		}
		if err := x.item(2, "- ", text); err != nil {
			return err
		}
	}
	return x.below("%s", end)
}

func (x *Exercise) titledOrTitle(a practice.Action) string { return x.titled(a.Do, a.ID, a.Place) }

func (x *Exercise) titledNeed(n practice.Need) string {
	return words.Titled(x.s.Text(n.Title), n.Place)
}

// checked tells the result of a check.
func (x *Exercise) checked(a practice.Action, out practice.Outcome) error {
	c := x.book.Checks.Get(a.ID)
	if err := x.say("Done, %s: %s", words.Minutes(c.Minutes), x.s.Text(c.Do)); err != nil {
		return err
	}
	if err := x.findings(out.Seen); err != nil {
		return err
	}
	if out.Rod != nil {
		if err := x.rod(out.Rod); err != nil {
			return err
		}
	}
	if len(out.Found) == 0 {
		return x.below("No cause is proved by it.")
	}
	for _, at := range out.Found {
		if err := x.below("It shows: %s.", x.titled(practice.Name, at.ID, at.Place)); err != nil {
			return err
		}
	}
	return nil
}

// rod shows the readings of a rod and asks for the shim before it tells the
// tool's own.
func (x *Exercise) rod(r *practice.RodReading) error {
	for _, line := range []struct {
		name string
		at   [3]int
	}{{"above", r.Top}, {"below", r.Bottom}} {
		if err := x.below("Clearance %s the rod, thou: back %d, middle %d, front %d", line.name, line.at[0], line.at[1], line.at[2]); err != nil {
			return err
		}
	}
	if !r.Low && !r.High {
		return nil
	}
	if err := x.say("Shim under both ends of the lower guide, in thou? Take out: with a minus sign. Enter: no answer."); err != nil {
		return err
	}
	answer, err := x.term.Ask("")
	if err != nil {
		return err
	}
	shim, title, ok, err := practice.ShimFor(x.book, x.s.Case().Pump, *r)
	if err != nil {
		return err
	}
	if !ok {
		return x.below("The tool gives no thickness here: %s.", title)
	}
	x.shimsAsked++
	given, err := strconv.ParseFloat(strings.ReplaceAll(answer, ",", "."), 64)
	word := "Not so."
	if err == nil && given > shim-shimWithin && given < shim+shimWithin {
		x.shims++
		word = "Right."
	}
	return x.below("%s Half of (above less below) is %.0f thou. %s.", word, shim, strings.TrimSuffix(title, "."))
}

// shimWithin is how near an answer must be, in thou.
const shimWithin = 1.0
