package dialogue

import (
	"errors"
	"slices"

	"telltale/cmd/internal/talk"
	"telltale/cmd/internal/words"
	"telltale/engine"
	"telltale/engine/interview"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/rules"
)

// check takes the result of a check: one of the results of the rulebook, that
// nothing was found, or that it settles nothing.
func (d *Dialogue) check(k *evidence.Case, m *interview.Move) error {
	s := m.Step
	var options []talk.Option
	for _, r := range s.Results {
		options = append(options, talk.Option{Text: r.If})
	}
	options = append(options, talk.Option{Text: "nothing wrong found"}, talk.Option{Text: "done, but the result is not clear"})
	options = append(options, around("not now")...)
	i, err := d.term.Choose("What came out?", options)
	if err != nil {
		return err
	}
	if key := options[i].Key; key != "" {
		return d.aroundStep(k, m, key)
	}
	switch {
	case i == len(s.Results):
		return d.checked(m, "nothing", "nothing wrong found")
	case i > len(s.Results):
		return d.unclear(k, m, "not clear")
	}
	return d.result(k, m, s.Results[i])
}

func (d *Dialogue) checked(m *interview.Move, result, said string) error {
	return d.writeThen(func(s *interview.Sitting) { s.InARow = 0 }, record.Checked(m.Step.ID, result, placesOf(m.Step.Place)...), d.log("checked: "+words.Titled(m.Step.Title, m.Step.Place)+": "+said))
}

// result says what a result means, and asks whether it proves a cause.
func (d *Dialogue) result(k *evidence.Case, m *interview.Move, r engine.ResultReport) error {
	if err := d.term.Say(2, r.Then); err != nil {
		return err
	}
	if len(r.PointsTo) == 0 {
		if len(r.Clears) > 0 {
			return d.checked(m, "nothing", r.If)
		}
		return d.shown(k, m, r)
	}
	proved := d.provable(k, m, r.PointsTo)
	if len(proved) == 0 {
		return d.shown(k, m, r)
	}
	if len(proved) == 1 && d.leaves(proved[0]) {
		// The well does not wait for a proof; whoever is in charge takes it back.
		return d.write(record.Confirm(proved[0].ID, placesAt(proved[0])...), record.Checked(m.Step.ID, "unclear", placesOf(m.Step.Place)...),
			d.log("checked: "+words.Titled(m.Step.Title, m.Step.Place)+": "+r.If))
	}
	options := []talk.Option{{Text: "not proved yet"}}
	for _, at := range proved {
		options = append(options, talk.Option{Text: "proved: " + words.Titled(d.book.Causes.Get(at.ID).Title, at.Place)})
	}
	i, err := d.choose("Does that prove one of these?", options)
	switch {
	case errors.Is(err, errBack):
		return nil // the check is asked again
	case err != nil:
		return err
	case i == 0:
		return d.shown(k, m, r)
	}
	at := proved[i-1]
	sign, _ := d.signOf(k, m, r)
	edits := append(sign, record.Confirm(at.ID, placesAt(at)...), record.Checked(m.Step.ID, "unclear", placesOf(m.Step.Place)...), d.log(options[i].Text))
	return d.writeThen(func(s *interview.Sitting) { s.Repairing, s.LookMore, s.InARow = false, false, 0 }, edits...)
}

// signOf gives the edit that writes the sign that a result is, none where it is
// no sign, is answered already, or can be at several places; open is that sign
// then.
func (d *Dialogue) signOf(k *evidence.Case, m *interview.Move, r engine.ResultReport) (edits []record.Edit, open *sign) {
	if r.Shows == "" {
		return nil, nil
	}
	s := sign{d.book.Signs.Get(r.Shows), m.Step.Place}
	places := k.Pump.Under(s.within, s.sign.Level)
	if !s.sign.When.Holds(k, d.book) || len(openWithin(k, s)) == 0 {
		return nil, nil
	}
	if len(places) != 1 {
		return nil, &s
	}
	answer := r.Kind
	if answer == "" {
		answer = "present"
	}
	return d.findings(s.sign, answer, places), nil
}

// shown notes a result that proves nothing: the sign that it is goes into the
// case by itself, or it is asked where it shows; where the book names no sign
// it is asked which were seen.
func (d *Dialogue) shown(k *evidence.Case, m *interview.Move, r engine.ResultReport) error {
	edits, open := d.signOf(k, m, r)
	if len(edits) == 0 && open == nil {
		return d.unclear(k, m, r.If)
	}
	written := len(d.before)
	edits = append(edits, record.Checked(m.Step.ID, "unclear", placesOf(m.Step.Place)...), d.log("checked: "+words.Titled(m.Step.Title, m.Step.Place)+": "+r.If))
	if err := d.writeThen(func(s *interview.Sitting) { s.InARow = 0 }, edits...); err != nil {
		return err
	}
	if open != nil && len(d.before) > written {
		d.queue = append(slices.Clone(d.queue), *open)
	}
	return nil
}

// leaves says whether a cause, if it is there, makes everybody leave the pump.
func (d *Dialogue) leaves(at evidence.At) bool {
	_, k, err := record.Apply(d.file.Name(), d.file.Text(), d.book.Vocabulary(), record.Confirm(at.ID, placesAt(at)...))
	return err == nil && slices.ContainsFunc(d.book.Stops.List, func(s *rules.Stop) bool { return s.LeavePump && s.When.Holds(k, d.book) })
}

// sign is a sign at the places of a check.
type sign struct {
	sign   *rules.Sign
	within evidence.Place
}

// unclear notes a check that settled nothing, and asks which of the signs that
// it tells of were seen: they move the ranking, the check alone does not.
func (d *Dialogue) unclear(k *evidence.Case, m *interview.Move, words string) error {
	written := len(d.before)
	if err := d.checked(m, "unclear", words); err != nil || len(d.before) <= written {
		return err
	}
	var signs []sign
	var options []talk.Option
	for _, id := range d.book.Checks.Get(m.Step.ID).Answers {
		s := sign{d.book.Signs.Get(id), m.Step.Place}
		if s.sign.When.Holds(k, d.book) && s.sign.Fits(k) && len(openWithin(k, s)) > 0 {
			signs, options = append(signs, s), append(options, talk.Option{Text: s.sign.Title})
		}
	}
	if len(signs) == 0 {
		return nil
	}
	options = append(options, talk.Option{Key: "n", Text: "none of these; each was looked at"}, talk.Option{Key: "x", Text: "nothing to add"}, talk.Option{Key: "b", Text: "back"}, talk.Option{Key: "q", Text: "leave"})
	chosen, err := d.term.Several("Was one of these seen? (several numbers with blanks between)", options)
	if err != nil {
		return err
	}
	switch options[chosen[0]].Key {
	case "b":
		return errBack
	case "q":
		return errLeave
	case "x":
		return nil
	case "n":
		var edits []record.Edit
		for _, s := range signs {
			edits = append(edits, d.findings(s.sign, "absent", openWithin(k, s))...)
		}
		return d.write(edits...)
	}
	for _, i := range chosen {
		d.queue = append(slices.Clone(d.queue), signs[i])
	}
	return nil
}

// openWithin are the places of a sign that are not answered.
func openWithin(k *evidence.Case, s sign) []evidence.Place {
	return slices.DeleteFunc(k.Pump.Under(s.within, s.sign.Level), func(p evidence.Place) bool { return k.Known(s.sign.ID, p) })
}

// askQueued asks for the next sign that a check showed.
func (d *Dialogue) askQueued(k *evidence.Case) error {
	s := d.queue[0]
	d.queue = d.queue[1:]
	places := openWithin(k, s)
	if len(places) == 0 {
		return nil
	}
	return d.answer(k, s.sign, places, nil)
}

func placesAt(at evidence.At) []evidence.Place {
	if at.Place == (evidence.Place{}) {
		return nil
	}
	return []evidence.Place{at.Place}
}

// provable gives the causes that a result points to and that the check can
// prove, at their places within that of the check: not where they are ruled
// out, proved already, or where a look that can prove them found nothing.
func (d *Dialogue) provable(k *evidence.Case, m *interview.Move, causes []string) []evidence.At {
	here := m.Step.Place
	var out []evidence.At
	for _, id := range causes {
		cause := d.book.Causes.Get(id)
		if !cause.When.HoldsForPump(&k.Pump) || !d.book.CanProve(d.book.Checks.Get(m.Step.ID), id) {
			continue
		}
		for _, p := range k.Pump.Under(here, cause.Level) {
			if at := (evidence.At{ID: id, Place: p}); !d.excluded(k, at) {
				out = append(out, at)
			}
		}
	}
	return out
}

func (d *Dialogue) excluded(k *evidence.Case, at evidence.At) bool {
	same := func(other evidence.At) bool { return other.ID == at.ID && other.Place == at.Place }
	return slices.ContainsFunc(k.RuledOut, same) || slices.ContainsFunc(k.Confirmed, same) ||
		slices.ContainsFunc(k.Cleared, func(done evidence.At) bool {
			return done.Place == at.Place && d.book.CanProve(d.book.Checks.Get(done.ID), at.ID)
		})
}
