package evidence

import (
	"strings"
	"time"
)

// Stamp writes when something was done, as a file holds it: RFC 3339 in the zone that
// the time has, so that whoever reads the file reads the clock on the wall.
func Stamp(t time.Time) string { return t.Format(time.RFC3339) }

// Logged tells when something was done, as a file has it: a stamp of any zone as When
// does in the zone of this machine, anything else as it stands.
func Logged(at string) string {
	if t, err := time.Parse(time.RFC3339, at); err == nil {
		return When(t.Local())
	}
	return at
}

// When is a day and a time with its zone: its name, where it has one, and what it is
// ahead of UTC.
func When(t time.Time) string {
	out, offset := t.Format("2006-01-02 15:04 "), "UTC"+t.Format("-07:00")
	switch name, _ := t.Zone(); {
	case name == "UTC":
		return out + name
	case name == "" || strings.ContainsAny(name[:1], "+-"):
		return out + offset
	default:
		return out + name + " (" + offset + ")"
	}
}
