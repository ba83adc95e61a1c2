package record

import (
	"fmt"
	"slices"
	"strconv"

	"telltale/evidence"
	"telltale/evidence/source"
)

// Edits of single values and plain lists.

// SetPump sets one key of the pump: name, action, state, rotation, liner,
// stroke, piston-rod, connecting-rod, speed or discharge. An empty value takes
// the key out. Before a pump that stood runs again, what was taken with covers
// off is noted as taken at that stop.
func SetPump(key, value string) Edit {
	set := setOne(value, "pump", key)
	if key != "state" || value != string(evidence.Running) {
		return set
	}
	return Edit{func(d *draft) error { return d.stood() }}.then(set.do)
}

// SetManual notes a figure of this pump's manual, by the id of its limit; an
// empty figure takes it out.
func SetManual(limit, figure string) Edit { return setOne(figure, "manual", limit) }

// SetMeasured notes one reading or word under measured: by its keys, as
// "rod-in-opening", "2", "back", "top"; an empty value takes it out. A block
// of readings is only right with its resolution and one reading at least:
// those go into one Apply or Write.
func SetMeasured(value string, path ...string) Edit {
	return setOne(value, append([]string{"measured"}, path...)...).then(func(d *draft) error {
		switch len(path) {
		case 0:
			return nil
		case 1:
			return d.retaken(path[0])
		}
		return d.retaken(path[0], evidence.Place{Cylinder: path[1]})
	})
}

// SetMeasuredAgain is SetMeasured for what was measured after a repair.
func SetMeasuredAgain(value string, path ...string) Edit {
	return setOne(value, append([]string{"measured-again"}, path...)...)
}

// SetSuction notes one thing of the suction line by its keys; an empty value takes
// it out.
func SetSuction(value string, key ...string) Edit {
	return setOne(value, append([]string{"suction-line"}, key...)...)
}

// SetLines writes the lines of a list anew, as the stations of a survey or the pipes of
// the suction line; each has some of the keys, and no line takes the list out.
func SetLines(lines []map[string]string, keys []string, path ...string) Edit {
	return Edit{func(d *draft) error {
		list := &source.Node{Kind: source.List}
		for _, line := range lines {
			var fields []source.Field
			for _, key := range keys {
				if line[key] != "" {
					fields = append(fields, source.Field{Key: key, Value: source.Word(line[key])})
				}
			}
			list.Items = append(list.Items, source.Fields(fields...))
		}
		return d.set(list, path...)
	}}.then(func(d *draft) error {
		if len(path) < 3 || path[0] != "measured" {
			return nil
		}
		return d.retaken(path[1], evidence.Place{Cylinder: path[2]})
	})
}

// setOne writes a value where its keys lead; a number behind a key is a line of a list,
// counted from 1.
func setOne(value string, path ...string) Edit {
	return Edit{func(d *draft) error {
		for i, key := range path[1:] {
			if line, err := strconv.Atoi(key); err == nil && lists[path[i]] && i+3 == len(path) {
				return d.setInList(value, line-1, path[i+2], path[:i+1])
			}
		}
		if value == "" {
			return d.remove(path...)
		}
		return d.set(source.Word(value), path...)
	}}
}

// lists are the keys under which lines stand.
var lists = map[string]bool{"stations": true, "pipes": true}

// setInList writes one key of a line of a list, or of the next line behind the last.
func (d *draft) setInList(value string, line int, key string, path []string) error {
	list := &source.Node{Kind: source.List}
	if n := d.doc.Get(path...); n != nil && n.Kind == source.List {
		list.Items = slices.Clone(n.Items)
	}
	if line < 0 || line > len(list.Items) || line == len(list.Items) && value == "" {
		if value == "" {
			return nil
		}
		return d.refused(fmt.Errorf("%s has no line %d yet; the next one is %d", path[len(path)-1], line+1, len(list.Items)+1))
	}
	var fields []source.Field
	if line < len(list.Items) {
		for _, p := range list.Items[line].Pairs {
			if p.Key.Text != key {
				fields = append(fields, source.Field{Key: p.Key.Text, Value: source.Word(p.Value.Text)})
			}
		}
	} else {
		list.Items = append(list.Items, nil)
	}
	if value != "" {
		fields = append(fields, source.Field{Key: key, Value: source.Word(value)})
	}
	if list.Items[line] = source.Fields(fields...); len(fields) == 0 {
		list.Items = slices.Delete(list.Items, line, line+1)
	}
	return d.set(list, path...)
}

// AddRecent notes a work that was done lately.
func AddRecent(work string) Edit {
	return Edit{func(d *draft) error {
		if d.recent(work) >= 0 {
			return nil
		}
		return d.refused(d.doc.Add(source.Word(work), "recent"))
	}}
}

// What can be said of a work besides that it was done.
const (
	WorkDone  = "done"  // before-trouble or after-trouble
	WorkCured = "cured" // yes or no
)

// SayOfRecent notes one thing of a work, WorkDone or WorkCured, and the work where
// it does not stand yet. A work that did or did not cure the trouble was done after
// it began, so the one takes out the other where they exclude each other.
func SayOfRecent(work, key, value string) Edit {
	return AddRecent(work).then(func(d *draft) error {
		list, i := d.doc.Get("recent"), d.recent(work)
		said := map[string]*source.Node{}
		item := list
		if list.Kind == source.List {
			item = list.Items[i]
		}
		if item.Kind == source.Mapping {
			for _, p := range item.Pairs[0].Value.Pairs {
				said[p.Key.Text] = source.Word(p.Value.Text)
			}
		}
		switch {
		case key == WorkCured:
			delete(said, WorkDone)
		case value == string(evidence.BeforeTrouble):
			delete(said, WorkCured)
		}
		said[key] = source.Word(value)
		var fields []source.Field
		for _, k := range []string{WorkDone, WorkCured, "at"} {
			if said[k] != nil {
				fields = append(fields, source.Field{Key: k, Value: said[k]})
			}
		}
		now := source.Fields(source.Field{Key: work, Value: source.Fields(fields...)})
		if list.Kind != source.List {
			return d.set(&source.Node{Kind: source.List, Items: []*source.Node{now}}, "recent")
		}
		return d.refused(d.doc.SetItem(i, now, "recent"))
	})
}

// RemoveRecent takes it out again.
func RemoveRecent(work string) Edit {
	return Edit{func(d *draft) error {
		for i := d.recent(work); i >= 0; i = d.recent(work) {
			if d.doc.Get("recent").Kind != source.List {
				return d.remove("recent")
			}
			if err := d.doc.RemoveItem(i, "recent"); err != nil {
				return d.refused(err)
			}
		}
		return nil
	}}
}

// recent is where a work stands in the list; -1 if it does not.
func (d *draft) recent(work string) int {
	n := d.doc.Get("recent")
	if n == nil {
		return -1
	}
	items := []*source.Node{n}
	if n.Kind == source.List {
		items = n.Items
	}
	return slices.IndexFunc(items, func(item *source.Node) bool {
		if item.Kind == source.Mapping && len(item.Pairs) == 1 {
			item = item.Pairs[0].Key
		}
		return item.Kind == source.Scalar && item.Text == work
	})
}

// AddLog adds a line to the end of the log. Empty parts are left out.
func AddLog(entry evidence.LogEntry) Edit {
	return addLine("log", "at", entry.At, "by", entry.By, "did", entry.Did)
}
