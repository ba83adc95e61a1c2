package evidence

import (
	"slices"

	"telltale/evidence/source"
)

// readExact reads causes that were confirmed, or judged to be it, and wants one exact
// place each: what was found was found somewhere.
func (r *caseReader) readExact(n *source.Node, is string) []At {
	if n == nil {
		return nil
	}
	before := r.problems.Len()
	all := r.readPlaced(n, "cause", r.words.Causes)
	if r.problems.Len() > before {
		return nil
	}
	perLine := map[source.Pos]int{}
	for _, at := range all {
		perLine[at.Pos]++
		if perLine[at.Pos] == 2 {
			var places []string
			for _, p := range r.out.Pump.Places(r.words.Causes[at.ID]) {
				places = append(places, p.String())
			}
			r.problems.Add(at.Pos, source.WrongPlace, "%s was %s, but where? write %q%s", at.ID, is, "- "+at.ID+": "+at.Place.String(), source.Expected("", places))
		}
	}
	return all
}

// readChecked reads the checks that were done: `check: nothing`, `check:
// unclear`, or by place `check: {nothing: [2], unclear: [3]}`.
func (r *caseReader) readChecked(n *source.Node) {
	for _, p := range n.Entries(r.problems, "checked") {
		if knownName(r, p.Key, "check", r.words.Checks) {
			r.readResult(p.Key, p.Value)
		}
	}
}

func (r *caseReader) readResult(key, value *source.Node) {
	into := map[string]*[]At{"nothing": &r.out.Cleared, "unclear": &r.out.Unclear}
	add := func(result string, places *source.Node) {
		*into[result] = append(*into[result], r.at(key, places, r.words.Checks[key.Text])...)
	}
	if value.Kind != source.Mapping {
		if result := value.Word(r.problems, "result", CheckResults()); result != "" {
			add(result, nil)
		}
		return
	}
	o := value.Object(r.problems, key.Text)
	given := false
	for _, result := range CheckResults() {
		if places := o.Get(result); places != nil {
			given = true
			add(result, places)
		}
	}
	o.Close()
	if !given {
		r.problems.Add(value.Pos, source.Missing, "%s has no result; expected %s", key.Text, source.Want("nothing: or unclear: with the places"))
	}
}

// CheckResults are the results of a check that a case file has.
func CheckResults() []string { return []string{"nothing", "unclear"} }

// readFollowing reads causes that must be in an earlier list first.
func (r *caseReader) readFollowing(n *source.Node, what string, before []At, earlier string) []At {
	out := r.readPlaced(n, "cause", r.words.Causes)
	for _, at := range out {
		if !has(before, at.ID, at.Place) {
			r.problems.Add(at.Pos, source.NeedsOther, "%s%s is %s here but not %s; write it there first", at.ID, of(at.Place), what, earlier)
		}
	}
	return out
}

func (r *caseReader) checkVerdicts() {
	for _, at := range slices.Concat(r.out.Confirmed, r.out.Judged, r.out.RuledOut) {
		if r.words.CauseApplies != nil && !r.words.CauseApplies(at.ID, &r.out.Pump) {
			r.problems.Add(at.Pos, source.DoesNotFit, "%s cannot be on a %s pump", at.ID, r.out.Pump.Action)
		}
	}
	one := func(list []At, is string, others []At, otherIs string) {
		for _, at := range list {
			if i := slices.IndexFunc(others, func(o At) bool { return o.ID == at.ID && o.Place == at.Place }); i >= 0 {
				r.problems.Add(at.Pos, source.Excludes, "%s is %s here and %s at line %d; keep one", at.ID, is, otherIs, others[i].Pos.Line)
			}
		}
	}
	one(r.out.Confirmed, "confirmed", r.out.RuledOut, "ruled out")
	one(r.out.Judged, "judged", r.out.RuledOut, "ruled out")
	one(r.out.Judged, "judged", r.out.Confirmed, "confirmed")
}
