package record

import (
	"fmt"
	"strings"

	"telltale/evidence"
	"telltale/evidence/source"
)

// Edits of the locks of the isolation and of what stays open.

// HangLock notes a lock that hangs.
func HangLock(l evidence.Lock) Edit {
	return addLine("locks", "on", l.On, "by", l.By, "at", l.At, "tag", l.Tag, "key", l.Key)
}

// LockOff notes that a lock was taken off: the one on something, of its owner
// (and with its tag, if one is given), by whom and when. It is refused when no
// such lock hangs.
func LockOff(on, of, tag, by, at string) Edit {
	return endLine("locks", func(n *source.Node) bool {
		l := evidence.Lock{On: textAt(n, "on"), By: textAt(n, "by"), OffBy: textAt(n, "off-by")}
		return l.Hangs() && l.Is(on, of) && (tag == "" || strings.EqualFold(textAt(n, "tag"), tag))
	}, fmt.Sprintf("no lock of %q hangs on %q by the case", source.Clip(of), source.Clip(on)), "off-by", by, "off-at", at)
}

// LeaveOpen notes what stays open for the isolation.
func LeaveOpen(o evidence.LeftOpen) Edit {
	return addLine("stays-open", "what", o.What, "by", o.By, "at", o.At)
}

// Shut notes that it was shut again, by whom and when. It is refused when it
// does not stand open by the case.
func Shut(what, by, at string) Edit {
	return endLine("stays-open", func(n *source.Node) bool {
		return textAt(n, "shut-by") == "" && strings.EqualFold(textAt(n, "what"), what)
	}, fmt.Sprintf("%q does not stand open by the case", source.Clip(what)), "shut-by", by, "shut-at", at)
}

// addLine adds a line of keys with their words to a list; empty ones are left
// out.
func addLine(list string, words ...string) Edit {
	return Edit{func(d *draft) error {
		return d.refused(d.doc.Add(source.Fields(fields(nil, words)...), list))
	}}
}

// endLine adds words to the first line of a list that is meant.
func endLine(list string, meant func(*source.Node) bool, missing string, words ...string) Edit {
	return Edit{func(d *draft) error {
		if n := d.doc.Get(list); n != nil {
			for i, item := range n.Items {
				if meant(item) {
					return d.refused(d.doc.SetItem(i, source.Fields(fields(item, words)...), list))
				}
			}
		}
		return d.refused(fmt.Errorf("%s", missing))
	}}
}

// fields are those of a line, if any, and then keys with their words.
func fields(line *source.Node, words []string) []source.Field {
	var out []source.Field
	if line != nil {
		for _, p := range line.Pairs {
			if p.Value.Kind != source.Null {
				out = append(out, source.Field{Key: p.Key.Text, Value: source.Word(p.Value.Text)})
			}
		}
	}
	for i := 0; i < len(words); i += 2 {
		if words[i+1] != "" {
			out = append(out, source.Field{Key: words[i], Value: source.Word(words[i+1])})
		}
	}
	return out
}

// textAt is the word at a key of a line, "" if there is none.
func textAt(line *source.Node, key string) string {
	for _, p := range line.Pairs {
		if p.Key.Text == key {
			return p.Value.Text
		}
	}
	return ""
}
