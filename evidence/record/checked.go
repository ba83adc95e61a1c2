package record

import (
	"maps"
	"slices"

	"telltale/evidence"
	"telltale/evidence/source"
)

var results = evidence.CheckResults()

// Checked notes the result of a check: nothing (found nothing) or unclear. A
// newer result takes the place of an older one.
func Checked(check, result string, places ...evidence.Place) Edit {
	return Edit{func(d *draft) error { return d.check(check, result, places) }}.then(func(d *draft) error { return d.retaken(check, places...) })
}

// Unchecked takes the result of a check out again.
func Unchecked(check string, places ...evidence.Place) Edit {
	return Edit{func(d *draft) error { return d.check(check, "", places) }}
}

// check notes a result, or none, at some places of a check.
func (d *draft) check(check, result string, places []evidence.Place) error {
	pump, err := d.pump()
	if err != nil {
		return err
	}
	level, known := d.words.Checks[check]
	over, ok := overPlaces(pump.Layout, level, places)
	known = known && (result == "" || slices.Contains(results, result))
	if !known || !ok {
		return d.naiveCheck(check, result, places)
	}
	now := map[string]map[evidence.Place]bool{}
	for _, r := range results {
		now[r] = d.resultAt(check, r)
		for p := range over {
			delete(now[r], p)
			if r == result {
				now[r][p] = true
			}
		}
	}
	return d.writeCheck(pump.Layout, check, level, now)
}

func (d *draft) naiveCheck(check, result string, places []evidence.Place) error {
	if len(named(places)) == 0 {
		return d.set(source.Word(result), "checked", check)
	}
	return d.set(source.Fields(source.Field{Key: result, Value: placeList(named(places))}), "checked", check)
}

// resultAt reads where a check has had a result.
func (d *draft) resultAt(check, result string) map[evidence.Place]bool {
	k, out := d.read(), map[evidence.Place]bool{}
	for _, at := range map[string][]evidence.At{results[0]: k.Cleared, results[1]: k.Unclear}[result] {
		if at.ID == check {
			out[at.Place] = true
		}
	}
	return out
}

func (d *draft) writeCheck(layout evidence.Layout, check string, level evidence.Level, now map[string]map[evidence.Place]bool) error {
	var kept []string
	var fields []source.Field
	for _, r := range results {
		was := d.resultAt(check, r)
		switch {
		case len(now[r]) == len(layout.Places(level)):
			return d.set(source.Word(r), "checked", check)
		case maps.Equal(now[r], was):
			kept = append(kept, r)
		case len(now[r]) > 0:
			fields = append(fields, source.Field{Key: r, Value: placeList(inOrder(layout, level, now[r]))})
		}
	}
	return d.setFields(kept, fields, "checked", check)
}
