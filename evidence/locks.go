package evidence

import (
	"slices"
	"strings"

	"telltale/evidence/source"
)

// Lock is one lock of the isolation, as the crew wrote it down.
type Lock struct {
	On    string // what it hangs on
	By    string // whose it is
	At    string // when it was hung, as written
	Tag   string
	Key   string // where its key is
	OffBy string // who took it off; "" while it hangs
	OffAt string
	Pos   source.Pos
}

// HangingLocks gives the locks that hang by the case.
func (c *Case) HangingLocks() []Lock {
	return slices.DeleteFunc(slices.Clone(c.Locks), func(l Lock) bool { return !l.Hangs() })
}

// StillLeftOpen gives what stays open by the case and was not shut.
func (c *Case) StillLeftOpen() []LeftOpen {
	return slices.DeleteFunc(slices.Clone(c.StaysOpen), func(o LeftOpen) bool { return !o.Open() })
}

// Hangs says whether the lock is on, by the case.
func (l *Lock) Hangs() bool { return l.OffBy == "" }

// Is says whether this is the lock of somebody on something. Capitals do not
// matter.
func (l *Lock) Is(on, by string) bool {
	return strings.EqualFold(l.On, on) && strings.EqualFold(l.By, by)
}

// LeftOpen is a bleed, a drain or a valve that the isolation needs open.
type LeftOpen struct {
	What   string
	By     string // who opened it
	At     string
	ShutBy string // who shut it; "" while it is open
	ShutAt string
	Pos    source.Pos
}

// Open says whether it stands open, by the case.
func (o *LeftOpen) Open() bool { return o.ShutBy == "" }

// LockLine and OpenLine show how a line of locks: and of stays-open: is written.
const (
	LockLine = `- {on: drive, by: name, at: "06:10", tag: 14}`
	OpenLine = `- {what: discharge bleed, by: name, at: "06:20"}`
)

// readLocks reads the locks of the isolation.
func (r *caseReader) readLocks(n *source.Node) {
	for _, item := range r.lines(n, "locks", LockLine) {
		o := item.Object(r.problems, "a lock")
		l := Lock{Pos: item.Pos}
		l.On, l.By = r.word(o.Need("on"), "on"), r.word(o.Need("by"), "by")
		l.At, l.Tag, l.Key = r.word(o.Get("at"), "at"), r.word(o.Get("tag"), "tag"), r.word(o.Get("key"), "key")
		l.OffBy, l.OffAt = r.word(o.Get("off-by"), "off-by"), r.word(o.Get("off-at"), "off-at")
		o.Close()
		if l.OffAt != "" && l.OffBy == "" {
			r.problems.Add(item.Pos, source.NeedsOther, "the lock on %q is off, but who took it off? write off-by:", source.Clip(l.On))
		}
		for i := range r.out.Locks {
			old := &r.out.Locks[i]
			if l.Hangs() && old.Hangs() && old.Is(l.On, l.By) && strings.EqualFold(old.Tag, l.Tag) {
				r.problems.Add(item.Pos, source.Twice, "the lock of %q on %q hangs already at line %d; keep one, or give each its tag:", source.Clip(l.By), source.Clip(l.On), old.Pos.Line)
			}
		}
		r.out.Locks = append(r.out.Locks, l)
	}
}

// readStaysOpen reads what the isolation leaves open.
func (r *caseReader) readStaysOpen(n *source.Node) {
	for _, item := range r.lines(n, "stays-open", OpenLine) {
		o := item.Object(r.problems, "a line of stays-open")
		open := LeftOpen{Pos: item.Pos}
		open.What, open.By, open.At = r.word(o.Need("what"), "what"), r.word(o.Get("by"), "by"), r.word(o.Get("at"), "at")
		open.ShutBy, open.ShutAt = r.word(o.Get("shut-by"), "shut-by"), r.word(o.Get("shut-at"), "shut-at")
		o.Close()
		if open.ShutAt != "" && open.ShutBy == "" {
			r.problems.Add(item.Pos, source.NeedsOther, "%q is shut, but who shut it? write shut-by:", source.Clip(open.What))
		}
		r.out.StaysOpen = append(r.out.StaysOpen, open)
	}
}

// lines gives the items of a list that has a line for each thing.
func (r *caseReader) lines(n *source.Node, what, line string) []*source.Node {
	switch {
	case n == nil || n.Kind == source.Null:
		return nil
	case n.Kind != source.List:
		r.problems.Add(n.Pos, source.WrongForm, "%s must be %s", what, source.Want("a list of lines like \""+line+"\""))
		return nil
	}
	return n.Items
}

// word reads a text on one line without blanks around it; "" if there is none.
func (r *caseReader) word(n *source.Node, what string) string {
	if n == nil {
		return ""
	}
	text := strings.Join(strings.Fields(n.String(r.problems, what)), " ")
	if text == "" && n.Kind == source.Scalar {
		r.problems.Add(n.Pos, source.Missing, "%s is empty; write a word, or leave the key out", what)
	}
	return text
}
