package record

import (
	"telltale/evidence"
	"telltale/evidence/source"
)

// Edits of what a case says as a job on a pump of a rig.

// What a job says of itself.
const (
	JobPump        = "pump"
	JobDate        = "date"
	JobHours       = "hours"
	JobClosed      = "closed"
	JobFound       = "found"        // what was found, in the crew's own words
	JobAfterChange = "after-change" // yes: behind what was changed on the pump that day
)

// SetJob sets one key of the job; an empty value takes it out.
func SetJob(key, value string) Edit { return setOne(value, "job", key) }

// PutInNew notes that a part was put in new on the job; stillGood: the old one still
// was.
func PutInNew(part string, at evidence.Place, stillGood bool) Edit {
	good := ""
	if stillGood {
		good = string(evidence.Yes)
	}
	return addLine("changed", "part", part, "at", at.String(), "still-good", good)
}

// Pack is what was put under the lower guide at its two ends, or taken out, as it was
// written: "12 thou". Where both ends are the same, Front is empty.
type Pack struct{ Rear, Front string }

func (p Pack) node() *source.Node {
	if p.Front == "" || p.Front == p.Rear {
		return source.Word(p.Rear)
	}
	return source.Fields(source.Field{Key: "rear", Value: source.Word(p.Rear)}, source.Field{Key: "front", Value: source.Word(p.Front)})
}

// Shims notes what was put under the lower guide of a cylinder on the job, and what
// was taken out; nil: nothing.
func Shims(at evidence.Place, in, out *Pack) Edit {
	return Edit{func(d *draft) error {
		line := []source.Field{{Key: "at", Value: source.Word(at.String())}}
		if in != nil {
			line = append(line, source.Field{Key: "put-in", Value: in.node()})
		}
		if out != nil {
			line = append(line, source.Field{Key: "taken-out", Value: out.node()})
		}
		return d.refused(d.doc.Add(source.Fields(line...), "shims"))
	}}
}

// UpkeepDone notes that what fell due after a repair was done on the job; without
// places at all of them.
func UpkeepDone(id string, places ...evidence.Place) Edit {
	return Edit{func(d *draft) error {
		return placedList{d: d, path: []string{"upkeep-done"}, levels: d.words.Upkeep}.add(id, places)
	}}
}
