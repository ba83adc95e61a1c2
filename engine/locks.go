package engine

import (
	"fmt"
	"strings"

	"telltale/evidence"
	"telltale/rules"
)

// The locks of the isolation and what stays open, by the case. It is never said
// that a lock may be taken off by anybody but its owner.

func lockReports(k *evidence.Case) []LockReport {
	out := []LockReport{}
	for i := range k.Locks {
		l := &k.Locks[i]
		out = append(out, LockReport{
			On: l.On, By: l.By, At: l.At, Tag: l.Tag, Key: l.Key, Hangs: l.Hangs(), OffBy: l.OffBy, OffAt: l.OffAt, Text: lockText(l),
		})
	}
	return out
}

func openLines(k *evidence.Case) []OpenLine {
	out := []OpenLine{}
	for i := range k.StaysOpen {
		o := &k.StaysOpen[i]
		out = append(out, OpenLine{What: o.What, By: o.By, At: o.At, Open: o.Open(), ShutBy: o.ShutBy, ShutAt: o.ShutAt, Text: openText(o)})
	}
	return out
}

// lockText says whose lock hangs on what, or who took it off.
func lockText(l *evidence.Lock) string {
	text := "ON: " + l.On + ": " + l.By + "'s lock" + also("", l.At) + also("tag ", l.Tag) + also("key: ", l.Key)
	switch {
	case l.Hangs():
		return text
	case strings.EqualFold(l.By, l.OffBy):
		return "off: " + l.On + ": " + l.By + "'s lock, taken off by its owner" + also("", l.OffAt)
	}
	return "OFF, NOT BY ITS OWNER: " + l.On + ": " + l.By + "'s lock, taken off by " + l.OffBy + also("", l.OffAt)
}

// openText says what was left open by whom, or who shut it.
func openText(o *evidence.LeftOpen) string {
	if o.Open() {
		return "OPEN: " + o.What + also("by ", o.By) + also("", o.At)
	}
	return "shut: " + o.What + also("by ", o.ShutBy) + also("", o.ShutAt)
}

// also is a further word behind a comma; nothing if there is none.
func also(lead, word string) string {
	if word == "" {
		return ""
	}
	return ", " + lead + word
}

// listed gives what a step of the book wants listed from the case, with a blank
// before it: the locks that hang, what stands open.
func (m *model) listed(lists []string) string {
	out := ""
	for _, list := range lists {
		var lines []string
		switch list {
		case rules.ListsLocks:
			for i := range m.k.Locks {
				if l := &m.k.Locks[i]; l.Hangs() {
					lines = append(lines, strings.TrimPrefix(lockText(l), "ON: "))
				}
			}
			out += sentence(" By the case these locks hang: %s. Each waits for its owner.", lines)
		case rules.ListsOpen:
			for i := range m.k.StaysOpen {
				if o := &m.k.StaysOpen[i]; o.Open() {
					lines = append(lines, strings.TrimPrefix(openText(o), "OPEN: "))
				}
			}
			out += sentence(" By the case these stand open: %s.", lines)
		}
	}
	return out
}

// ReturnDo says what a step back to service asks for, with what it lists from
// the case.
func ReturnDo(book *rules.Book, k *evidence.Case, r *rules.Return) string {
	m := model{book: book, k: k}
	return m.fill(r.Do) + m.listed(r.Lists)
}

func sentence(format string, lines []string) string {
	if len(lines) == 0 {
		return ""
	}
	return fmt.Sprintf(format, strings.Join(lines, "; "))
}

// lockNotes says what does not go together in the locks of the case.
func (m *model) lockNotes() []string {
	var out []string
	hanging, others := 0, 0
	for i := range m.k.Locks {
		l := &m.k.Locks[i]
		switch {
		case l.Hangs():
			hanging++
		case !strings.EqualFold(l.By, l.OffBy):
			others++
		}
	}
	if hanging > 0 && m.k.Pump.State == evidence.Running {
		out = append(out, fmt.Sprintf("By the case %d lock(s) still hang, yet the pump is said to run. One of the two is wrong: go and see.", hanging))
	}
	if others > 0 {
		out = append(out, fmt.Sprintf("%d lock(s) were taken off by somebody else than their owner. Tell the person in charge of the permit, and the owner.", others))
	}
	return out
}
