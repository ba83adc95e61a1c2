package record

import (
	"maps"
	"slices"

	"telltale/evidence"
	"telltale/evidence/source"
)

// When what needs covers off was taken.

// SetTaken notes when things that need covers off were taken, by the names of
// signs, checks or blocks of readings; without a name all that the case has.
// An empty time takes out what was said.
func SetTaken(when evidence.Taken, names ...string) Edit {
	return Edit{func(d *draft) error {
		now := map[string]evidence.Taken{}
		if len(names) == 0 {
			names = []string{evidence.Others}
		} else {
			now = maps.Clone(d.read().Taken)
		}
		return d.writeTaken(now, when, names...)
	}}
}

// read reads the draft as it stands; a draft between two edits may still have
// mistakes.
func (d *draft) read() *evidence.Case {
	var ps source.Problems
	k := evidence.ReadCase(d.doc.Root(), d.words, &ps)
	if k.Taken == nil {
		k.Taken = map[string]evidence.Taken{}
	}
	return k
}

func (d *draft) writeTaken(now map[string]evidence.Taken, when evidence.Taken, names ...string) error {
	for _, name := range names {
		now[name] = when
		if when == "" {
			delete(now, name)
		}
	}
	switch {
	case len(now) == 0:
		return d.remove("taken")
	case len(now) == 1 && now[evidence.Others] != "":
		return d.set(source.Word(string(now[evidence.Others])), "taken")
	}
	var fields []source.Field
	for _, time := range append(evidence.TakenTimes(), string(when)) {
		var at []string
		for _, name := range slices.Sorted(maps.Keys(now)) {
			if string(now[name]) == time {
				at = append(at, name)
				delete(now, name)
			}
		}
		if len(at) > 0 {
			fields = append(fields, source.Field{Key: time, Value: source.Words(at...)})
		}
	}
	return d.set(source.Fields(fields...), "taken")
}

// stood notes, before a pump that stood runs again, that what was taken with
// covers off until now was taken at that stop.
func (d *draft) stood() error {
	k := d.read()
	if k.Pump.State == evidence.Running || k.Pump.State == "" {
		return nil
	}
	var names []string
	add := func(name string) {
		if d.words.CoversOff[name] && k.TakenAt(name) == "" && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	for _, f := range k.Findings {
		add(f.Sign)
	}
	for _, block := range k.Measured.Blocks() {
		add(block)
	}
	for _, at := range k.Cleared {
		add(at.ID)
	}
	if len(names) == 0 {
		return nil
	}
	return d.writeTaken(k.Taken, evidence.AtLastStop, names...)
}

// retaken takes back that something was taken beside moving parts, now that it
// is taken anew on a pump that stands. While answers of other places are left
// under the same name, the word stands: those were not taken anew.
func (d *draft) retaken(name string, places ...evidence.Place) error {
	k := d.read()
	if k.Pump.State == evidence.Running || k.TakenAt(name) != evidence.WhileRunning || otherPlaces(k, name, places) {
		return nil
	}
	return d.writeTaken(k.Taken, evidence.AtLastStop, name)
}

// otherPlaces says whether the case has more under a name than what is said of
// these places; without a place all is said.
func otherPlaces(k *evidence.Case, name string, places []evidence.Place) bool {
	other := func(p evidence.Place) bool {
		return len(named(places)) > 0 && !slices.ContainsFunc(places, p.Touches)
	}
	left := false
	for _, f := range k.Findings {
		left = left || f.Sign == name && slices.ContainsFunc(f.Over, other)
	}
	for _, at := range k.Cleared {
		left = left || at.ID == name && other(at.Place)
	}
	for _, p := range k.Measured.PlacesOf(name) {
		left = left || other(p)
	}
	return left
}

// then does one thing after another.
func (e Edit) then(next func(*draft) error) Edit {
	return Edit{func(d *draft) error {
		if err := e.do(d); err != nil {
			return err
		}
		return next(d)
	}}
}
