package dialogue

import (
	"fmt"

	"telltale/cmd/internal/talk"
	"telltale/cmd/internal/words"
	"telltale/engine/interview"
	"telltale/evidence"
	"telltale/evidence/record"
)

// What the case leaves open about itself, and the short way to the proof.

// taken asks when something was taken that needs covers off.
func (d *Dialogue) taken(m *interview.Move) error {
	if err := d.term.Head("covers off"); err != nil {
		return err
	}
	for _, name := range m.Names {
		if err := d.term.Say(2, "- "+d.book.TakenTitle(name)); err != nil {
			return err
		}
	}
	i, err := d.choose("The pump runs. This can only be had with covers off. When was it taken?", []talk.Option{
		{Text: "at the last stop, pump locked off"}, {Text: "with the pump running, beside moving parts"}, {Text: "nobody knows; then it is not used"},
	})
	if err != nil {
		return err
	}
	when := evidence.WhileRunning
	if i == 0 {
		when = evidence.AtLastStop
	}
	return d.write(record.SetTaken(when, m.Names...), d.log("said when it was taken: "+string(when)))
}

// which asks which of two words stands that do not go together.
func (d *Dialogue) which(m *interview.Move) error {
	c := m.Which
	question := words.Contradiction(c)
	if err := d.term.Head("does not fit together"); err != nil {
		return err
	}
	other := "what was seen stands: take the check out"
	if c.Cause != "" {
		other = "the proved cause stands: take the check out"
	}
	i, err := d.choose(question, []talk.Option{{Text: "the check stands: nothing was found"}, {Text: other}, {Text: "later; leave both"}})
	if err != nil {
		return err
	}
	log := d.log("settled: " + question)
	switch {
	case i == 2:
		d.remember()
		d.sitting.Declined[interview.WhichKey(c)] = true
		return nil
	case i == 1:
		return d.write(record.Unchecked(c.Check, placesOf(c.Place)...), log)
	case c.Cause != "":
		return d.write(record.Unconfirm(c.Cause, placesOf(c.At)...), log)
	}
	return d.write(record.ClearFinding(c.Sign, placesOf(c.At)...), log)
}

// straight offers to go straight to the look that can prove a very likely
// cause.
func (d *Dialogue) straight(m *interview.Move) error {
	if err := d.standing(m); err != nil {
		return err
	}
	g := m.Report.GoStraight
	text := fmt.Sprintf("%s: %s. One look can prove it: %s. Go straight there?", words.Titled(g.Title, g.Place), words.Percent(g.Probability), words.Titled(g.CheckTitle, g.At))
	i, err := d.choose(text, []talk.Option{{Text: "yes; what makes it safe and what must be open still comes first"}, {Text: "no; go on with the questions and the list"}})
	if err != nil {
		return err
	}
	d.remember()
	if i == 0 {
		d.sitting.Straight = interview.StraightKey(g)
		return nil
	}
	d.sitting.Declined[interview.StraightKey(g)] = true
	return nil
}
