package evidence

import "telltale/evidence/source"

// BroughtOn is what a crew found to have brought a proved failure on.
type BroughtOn struct {
	Failed At
	By     At // without an id: nothing brought it on
}

// ByNothing is written where nothing brought a failure on.
const ByNothing = "nothing"

// readBroughtOn reads a list of lines with failed: and by:, each with one exact
// place.
func (r *caseReader) readBroughtOn(n *source.Node) {
	for _, item := range r.lines(n, "brought-on-by", "- {failed: {cause: 2}, by: {cause: 2}}") {
		o := item.Object(r.problems, "a line of brought-on-by")
		failed, by := o.Need("failed"), o.Need("by")
		o.Close()
		line := BroughtOn{}
		if failed != nil {
			line.Failed = r.oneAt(failed)
			if at := line.Failed; at.ID != "" && !has(r.out.Confirmed, at.ID, at.Place) {
				r.problems.Add(at.Pos, source.NeedsOther, "%s%s is brought on here but not confirmed; write it there first", at.ID, of(at.Place))
			}
		}
		if by != nil && (by.Kind != source.Scalar || by.Text != ByNothing) {
			line.By = r.oneAt(by, ByNothing)
			switch at := line.By; {
			case at.ID == "": // a mistake, told already
			case at.ID == line.Failed.ID && at.Place == line.Failed.Place:
				r.problems.Add(at.Pos, source.DoesNotFit, "%s%s did not bring itself on; name what did, or write by: %s", at.ID, of(at.Place), ByNothing)
			case has(r.out.RuledOut, at.ID, at.Place):
				r.problems.Add(at.Pos, source.Excludes, "%s%s is ruled out, so it brought nothing on; keep one", at.ID, of(at.Place))
			case r.words.CauseApplies != nil && !r.words.CauseApplies(at.ID, &r.out.Pump):
				r.problems.Add(at.Pos, source.DoesNotFit, "%s cannot be on a %s pump", at.ID, r.out.Pump.Action)
			}
		}
		none := by != nil && by.Kind == source.Scalar && by.Text == ByNothing
		for _, other := range r.out.BroughtOn {
			at := line.Failed
			same := at.ID != "" && other.Failed.ID == at.ID && other.Failed.Place == at.Place
			if same && (none && other.By.ID != "" || line.By.ID != "" && other.By.ID == "") {
				r.problems.Add(at.Pos, source.Excludes, "%s%s was brought on by something and by nothing (line %d too); keep one", at.ID, of(at.Place), other.Failed.Pos.Line)
			}
		}
		if none || line.By.ID != "" {
			r.out.BroughtOn = append(r.out.BroughtOn, line)
		}
	}
}

// oneAt reads `cause` or `cause: place`, which must be one exact place; a message
// names what could stand there besides.
func (r *caseReader) oneAt(n *source.Node, besides ...string) At {
	id, where := n, (*source.Node)(nil)
	if n.Kind == source.Mapping && len(n.Pairs) == 1 {
		id, where = n.Pairs[0].Key, n.Pairs[0].Value
	}
	if _, known := r.words.Causes[id.Text]; !known || id.Kind != source.Scalar { // the names are listed for the message only
		id.Word(r.problems, "cause", append(names(r.words.Causes), besides...))
		return At{}
	}
	before := r.problems.Len()
	all := r.at(id, where, r.words.Causes[id.Text])
	if r.problems.Len() > before || len(all) == 0 {
		return At{}
	}
	if len(all) > 1 {
		r.problems.Add(id.Pos, source.WrongPlace, "%s: at which one place? write %q", id.Text, id.Text+": "+all[0].Place.String())
		return At{}
	}
	return all[0]
}
