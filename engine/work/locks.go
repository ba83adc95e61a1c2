package work

import (
	"cmp"
	"strings"

	"telltale/evidence"
	"telltale/rules"
)

// The locks of the isolation and what stays open, by the case. It is never said
// that a lock may be taken off by anybody but its owner.

// Lock is one lock of the isolation: who hung it on what, and who took it
// off. Text says it in one line.
type Lock struct {
	On    string `json:"on"`
	By    string `json:"by"`
	At    string `json:"at,omitempty"`
	Tag   string `json:"tag,omitempty"`
	Key   string `json:"key,omitempty"`
	Hangs bool   `json:"hangs"`
	OffBy string `json:"off_by,omitempty"`
	OffAt string `json:"off_at,omitempty"`
	Text  string `json:"text"`
}

// LeftOpen is a bleed, drain or valve that the isolation leaves open.
type LeftOpen struct {
	What   string `json:"what"`
	By     string `json:"by,omitempty"`
	At     string `json:"at,omitempty"`
	Open   bool   `json:"open"`
	ShutBy string `json:"shut_by,omitempty"`
	ShutAt string `json:"shut_at,omitempty"`
	Text   string `json:"text"`
}

// Locks are the locks of a case.
func Locks(k *evidence.Case) []Lock {
	out := []Lock{}
	for i := range k.Locks {
		l := &k.Locks[i]
		out = append(out, Lock{On: l.On, By: l.By, At: l.At, Tag: l.Tag, Key: l.Key, Hangs: l.Hangs(), OffBy: l.OffBy, OffAt: l.OffAt, Text: lockText(l)})
	}
	return out
}

// StaysOpen is what a case leaves open.
func StaysOpen(k *evidence.Case) []LeftOpen {
	out := []LeftOpen{}
	for i := range k.StaysOpen {
		o := &k.StaysOpen[i]
		out = append(out, LeftOpen{What: o.What, By: o.By, At: o.At, Open: o.Open(), ShutBy: o.ShutBy, ShutAt: o.ShutAt, Text: openText(o)})
	}
	return out
}

// lists gives what a step of the book wants listed from the case, with a blank
// before it: the locks that hang, what stands open.
func lists(k *evidence.Case, lists []string) string {
	out := ""
	for _, list := range lists {
		var lines []string
		switch list {
		case rules.ListsLocks:
			for i := range k.Locks {
				if l := &k.Locks[i]; l.Hangs() {
					lines = append(lines, strings.TrimPrefix(lockText(l), lockHangs))
				}
			}
			out += sentence(theseHang, lines)
		case rules.ListsOpen:
			for i := range k.StaysOpen {
				if o := &k.StaysOpen[i]; o.Open() {
					lines = append(lines, strings.TrimPrefix(openText(o), standsOpen))
				}
			}
			out += sentence(theseStandOpen, lines)
		}
	}
	return out
}

// ReturnDo says what a step back to service asks for, with what it lists from
// the case.
func ReturnDo(book *rules.Book, k *evidence.Case, r *rules.Return) string {
	return book.Fill(k, r.Do) + lists(k, r.Lists)
}

// ReturnShort is the same on few lines of paper.
func ReturnShort(book *rules.Book, k *evidence.Case, r *rules.Return) string {
	return book.Fill(k, cmp.Or(r.Short, r.Do)) + lists(k, r.Lists)
}
