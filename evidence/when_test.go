package evidence

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

// A time is told in the zone that it has, so that nobody takes it for another.
func TestWhen(t *testing.T) {
	at := time.Date(2026, 3, 1, 10, 30, 0, 0, time.UTC)
	for want, zone := range map[string]*time.Location{
		"2026-03-01 10:30 UTC":              time.UTC,
		"2026-03-01 11:30 CET (UTC+01:00)":  time.FixedZone("CET", 3600),
		"2026-03-01 04:30 CST (UTC-06:00)":  time.FixedZone("CST", -6*3600),
		"2026-03-01 16:15 UTC+05:45":        time.FixedZone("+0545", 5*3600+45*60),
		"2026-03-01 07:30 UTC-03:00":        time.FixedZone("", -3*3600),
		"2026-03-01 21:30 AEDT (UTC+11:00)": time.FixedZone("AEDT", 11*3600),
	} {
		assert.Equal(t, want, When(at.In(zone)))
	}
}

// What is written is read off the clock on the wall; what is told is in the zone of this
// machine, from whatever zone it was written in, the old stamps of UTC too.
func TestTimesAreThoseOfTheClockOnTheWall(t *testing.T) {
	here := time.Local
	t.Cleanup(func() { time.Local = here })
	time.Local = time.FixedZone("CST", -6*3600)
	at := time.Date(2026, 3, 1, 4, 30, 9, 0, time.Local)
	assert.Equal(t, "2026-03-01T04:30:09-06:00", Stamp(at))
	for stamp, want := range map[string]string{
		Stamp(at):                   "2026-03-01 04:30 CST (UTC-06:00)",
		"2026-03-01T10:30:09Z":      "2026-03-01 04:30 CST (UTC-06:00)",
		"2026-03-01T11:30:09+01:00": "2026-03-01 04:30 CST (UTC-06:00)",
		"06:10":                     "06:10",
		"the night before":          "the night before",
		"":                          "",
	} {
		assert.Equal(t, want, Logged(stamp), stamp)
	}
}
