package work

import (
	"fmt"
	"strings"

	"telltale/evidence"
)

// What this package says in words of its own; all else that the crew reads
// stands in the rulebook.

// How a line about a lock, or about something left open, begins.
const (
	lockHangs, standsOpen = "ON: ", "OPEN: "
	lockOff, shut         = "off: ", "shut: "
	lockOffByOther        = "OFF, NOT BY ITS OWNER: "
)

// What a step lists from the case.
const (
	theseHang      = " By the case these locks hang: %s. Each waits for its owner."
	theseStandOpen = " By the case these stand open: %s."
)

// firstLook comes before what closes the pump up.
const firstLook = "First see that this was looked at: %s. It may have brought on what was proved. "

func sentence(format string, lines []string) string {
	if len(lines) == 0 {
		return ""
	}
	return fmt.Sprintf(format, strings.Join(lines, "; "))
}

// lockText says whose lock hangs on what, or who took it off.
func lockText(l *evidence.Lock) string {
	text := l.On + ": " + l.By + "'s lock"
	switch {
	case l.Hangs():
		return lockHangs + text + also("", evidence.Logged(l.At)) + also("tag ", l.Tag) + also("key: ", l.Key)
	case strings.EqualFold(l.By, l.OffBy):
		return lockOff + text + ", taken off by its owner" + also("", evidence.Logged(l.OffAt))
	}
	return lockOffByOther + text + ", taken off by " + l.OffBy + also("", evidence.Logged(l.OffAt))
}

// openText says what was left open by whom, or who shut it.
func openText(o *evidence.LeftOpen) string {
	if o.Open() {
		return standsOpen + o.What + also("by ", o.By) + also("", evidence.Logged(o.At))
	}
	return shut + o.What + also("by ", o.ShutBy) + also("", evidence.Logged(o.ShutAt))
}

// also is a further word behind a comma; nothing if there is none.
func also(lead, word string) string {
	if word == "" {
		return ""
	}
	return ", " + lead + word
}
