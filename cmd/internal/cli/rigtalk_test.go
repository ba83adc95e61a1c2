package cli

import (
	"bytes"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
	"telltale/evidence/rig"
	"telltale/rules"
)

// rigCrew talks on a day in the folder of a rig.
type rigCrew struct {
	t   *testing.T
	dir string
	day time.Time
}

func newRigCrew(t *testing.T, files map[string]string) *rigCrew {
	c := &rigCrew{t: t, dir: t.TempDir()}
	for name, text := range files {
		path := filepath.Join(c.dir, name)
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
		require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	}
	return c
}

func (c *rigCrew) on(day string) *rigCrew {
	var err error
	c.day, err = time.Parse(evidence.DateForm, day)
	require.NoError(c.t, err)
	return c
}

// asks types lines into telltale ask, over the rig or one file of it, and gives the
// screen.
func (c *rigCrew) asks(file string, lines ...string) string {
	c.t.Helper()
	var out bytes.Buffer
	s := streams{in: strings.NewReader(strings.Join(lines, "\n") + "\n"), out: &out, err: &out}
	o := askOptions{book: &bookOption{}, file: filepath.Join(c.dir, file), width: 160, now: func() time.Time { return c.day }}
	require.NoError(c.t, runAsk(s, o), out.String())
	return out.String()
}

func (c *rigCrew) file(name string) string {
	c.t.Helper()
	text, err := os.ReadFile(filepath.Join(c.dir, name))
	require.NoError(c.t, err)
	return string(text)
}

func (c *rigCrew) put(name, text string) {
	c.t.Helper()
	require.NoError(c.t, os.WriteFile(filepath.Join(c.dir, name), []byte(text), 0o600))
}

// files are those of the rig, by name.
func (c *rigCrew) files() (out []string) {
	require.NoError(c.t, filepath.WalkDir(c.dir, func(path string, d fs.DirEntry, err error) error {
		if name, _ := filepath.Rel(c.dir, path); !d.IsDir() {
			out = append(out, filepath.ToSlash(name))
		}
		return err
	}))
	return out
}

func (c *rigCrew) job(name string) *evidence.Case {
	c.t.Helper()
	book, err := rules.BuiltIn()
	require.NoError(c.t, err)
	path := filepath.Join(c.dir, name)
	k, err := rig.ParseCase(path, []byte(c.file(name)), book.Vocabulary())
	require.NoError(c.t, err)
	return k
}

// repaired says of a job what a talk comes to once all is found, put right and looked
// at again.
func (c *rigCrew) repaired(name string, causes string) {
	c.put(name, c.file(name)+"confirmed: ["+causes+"]\ncorrected: ["+causes+"]\nlooked-again: ["+causes+"]\nroot-left: ["+causes+"]\n")
}

// keysTyped are the keys of some lines, Enter counted.
func keysTyped(lines []string) int { return len(strings.Join(lines, "\n")) + 1 }

// From an empty folder to the second job on the same pump, whose record knows what the
// first one changed.
func TestATriplexFromItsFirstDayToItsNextJob(t *testing.T) {
	c := newRigCrew(t, nil).on("2026-10-20")
	screen := c.asks("", "2")
	assert.Contains(t, screen, "Make it a rig")
	assert.Empty(t, c.files(), "nothing is made without a yes")

	begin := []string{"2", "1000", "1"}
	told := []string{"the wiper on number two leaks again", "y", "q"}
	screen = c.asks("", append(append([]string{"1", "pump-2", "1", "6 1/2", "11", "d"}, "1", "1000", "1"), told...)...)
	const first = "jobs/2026-10-20-pump-2-wiper-leaks.yaml"
	assert.Equal(t, []string{first, "pumps/pump-2.yaml"}, c.files())
	assert.LessOrEqual(t, keysTyped(begin), 25)
	for _, known := range []string{"What pump is it", "triplex", "Its name"} {
		assert.NotContains(t, screen[strings.Index(screen, "Which job?"):], known, "the file of the pump knows it")
	}
	assert.True(t, strings.HasPrefix(c.file("pumps/pump-2.yaml"), "pump:\n  action: triplex-single-acting\n  name: pump-2\n  liner: 6 1/2 in\n  stroke: 11 in\n"), c.file("pumps/pump-2.yaml"))
	assert.NotRegexp(t, `(?m)^#   [a-z-]+: *[0-9]`, c.file("pumps/pump-2.yaml"), "no figure is invented")
	k := c.job(first)
	assert.Equal(t, "6 1/2 in", k.Pump.Liner.Written)
	assert.Equal(t, "1000 h", k.Job.Hours.Written)
	assert.Contains(t, c.file(first), "again: [2]")

	c.repaired(first, "wiper-worn-out: 2")
	screen = c.on("2026-10-21").asks(first, "1", "1", "1", "n", "1")
	assert.Contains(t, screen, "Closed 2026-10-21: wiper or diaphragm seal worn, cylinder 2.")
	assert.Contains(t, screen, "The job is closed.")
	assert.NotContains(t, screen, "telltale ask goes on from there.")
	assert.Contains(t, c.file(first), "changed:\n  - {part: wiper-set, at: 2}\n")
	assert.Contains(t, c.file(first), "closed: 2026-10-21")
	assert.Contains(t, c.file("pumps/pump-2.yaml"), "hours:\n  - {date: 2026-10-20, hours: 1000 h}\n")

	// The next job: the meter cannot run back, nor faster than the clock.
	screen = c.on("2026-11-10").asks("", "1", "900", "9000", "1412", "1", "the wiper on number two leaks again", "y", "q")
	assert.Contains(t, screen, "less than it showed on 2026-10-20")
	assert.Contains(t, screen, "no more than 528 h have passed")
	const second = "jobs/2026-11-10-pump-2-wiper-leaks.yaml"
	k = c.job(second)
	require.Len(t, k.Measured.PartRecords, 1, "what the first job changed")
	rec := k.Measured.PartRecords[0]
	assert.Equal(t, "wiper-set", rec.Part)
	assert.Equal(t, 1412., rec.To.In("h"))

	// The guide was shimmed, wipers and another liner put in: the pump's file takes the
	// size, with what stood before, only on a yes.
	c.put("pumps/pump-2.yaml", c.file("pumps/pump-2.yaml")+"manual:\n  relief-setting: 3000 psi   # pin 4\n  dampener-charge: 900 psi\n")
	c.repaired(second, "wiper-worn-out: 2, guide-and-crosshead-worn: 2")
	screen = c.on("2026-11-11").asks(second, "1", "1", "4", "liner", "1", "1 2 3", "1", "1 2 3", "12", "6", "d", "1")
	assert.Contains(t, c.file(second), "shims:\n  - {at: 2, put-in: 12 thou}\n", screen)
	assert.Contains(t, screen, "Closed 2026-11-11: wiper or diaphragm seal worn, cylinder 2, after 412 h; brought on by crosshead")
	pump := c.file("pumps/pump-2.yaml")
	assert.Contains(t, pump, "  liner: 6 in\n")
	assert.Contains(t, pump, "was:\n  - {until: 2026-11-10, pump: {liner: 6 1/2 in}, manual: {relief-setting: 3000 psi}}\n")
	assert.NotContains(t, pump, "\n  relief-setting:", "nobody has read it for the new liner")
	assert.Contains(t, pump, "pin 4", "what people wrote stays")
	assert.NotContains(t, screen, "dampener")
	assert.Equal(t, "6 1/2 in", c.job(second).Pump.Liner.Written, "the job was found with the old one")

	// A job of the same day as the change takes what stands since.
	c.on("2026-11-10").asks("", "1", "1413", "2", "q")
	k = c.job("jobs/2026-11-10-pump-2-job.yaml")
	assert.Equal(t, "6 in", k.Pump.Liner.Written)
	assert.NotContains(t, k.Manual, "relief-setting", "the old setting is none for the new liner")
	assert.Contains(t, k.Manual, "dampener-charge")
}

// A duplex: sizes of both, a part of one end, the meter that nobody read on the job, and
// what the job says otherwise than the pump's file.
func TestADuplexFromItsFirstDayToItsNextJob(t *testing.T) {
	c := newRigCrew(t, map[string]string{"pumps/pump-1.yaml": "pump: {action: triplex-single-acting}\n", "jobs/broken.yaml": "job: {pump: pump-9, date: 2026-10-20}\npump: {state: running}\n"}).on("2026-10-20")
	screen := c.asks("", "2", "Pump 1", "Pump 3, the old one", "2", "6 1/2", "16", "2 1/2", "27340", "q")
	assert.Contains(t, screen, "Not counted: "+filepath.Join(c.dir, "jobs", "broken.yaml"))
	assert.Contains(t, screen, "pump-1.yaml already")
	assert.Contains(t, screen, "Written: "+filepath.Join(c.dir, "pumps", "pump-3-the-old-one.yaml"))
	const pump = "pumps/pump-3-the-old-one.yaml"
	assert.Contains(t, c.file(pump), "  name: \"Pump 3, the old one\"\n  liner: 6 1/2 in\n  stroke: 16 in\n  piston-rod: 2 1/2 in\nhours:\n  - {date: 2026-10-20, hours: 27340 h}\n")

	screen = c.asks("", "2", "d", "1", "the packing on the left side leaks", "y", "q")
	job := ""
	for _, name := range c.files() {
		if strings.HasPrefix(name, "jobs/2026-10-20-pump-3-the-old-one-") {
			job = name
		}
	}
	require.NotEmpty(t, job, screen)
	assert.NotContains(t, job, "one-job", "named by the sign that was told")
	assert.NotContains(t, c.file(job), "hours:")
	c.put(job, strings.Replace(c.file(job), "state: running\n", "state: running\n  piston-rod: 2 3/4 in\n  stroke: 15 in\nmanual: {rod-wear-most: 12 thou}\n", 1))
	c.repaired(job, "packing-worn-out: left")
	screen = c.on("2026-10-22").asks(job, "1", "1", "27360", "1", "n", "2", "1", "1", "1")
	assert.Contains(t, c.file(job), "hours: 27360 h")
	assert.Contains(t, c.file(job), "changed:\n  - {part: packing-set, at: left}\n")
	text := c.file(pump)
	assert.Contains(t, text, "stroke: 16 in", "a no writes nothing: "+screen)
	assert.Contains(t, text, "piston-rod: 2 3/4 in")
	assert.Contains(t, text, "was:\n  - {until: 2026-10-20, pump: {piston-rod: 2 1/2 in}}\n")
	assert.Contains(t, text, "manual:\n  rod-wear-most: 12 thou\n")
	assert.NotContains(t, text, "27360", "the file has a reading of that day")

	screen = c.on("2026-11-02").asks("", "2", "27600", "1", "q")
	next := c.job("jobs/2026-11-02-pump-3-the-old-one-job.yaml")
	assert.Equal(t, "2 3/4 in", next.Pump.PistonRod.Written)
	require.NotEmpty(t, next.Measured.PartRecords, screen)
	assert.Equal(t, "packing-set", next.Measured.PartRecords[0].Part)

	// A closed job is opened again, and offers nothing that is written already.
	screen = c.asks(job, "1")
	assert.Contains(t, screen, "This job was closed on 2026-10-22")
	assert.Contains(t, screen, "Closed 2026-10-22: rod packing worn out, left cylinder")
	screen = c.asks(job, "2", "q")
	assert.NotContains(t, c.file(job), "closed:")
	assert.Contains(t, screen, "Does it still stand so?")
}

// Nobody's job is written over, whatever it is called.
func TestANewJobTakesNobodysName(t *testing.T) {
	mine := "job: {pump: pump-2, date: 2026-10-20}   # mine\npump: {state: running}\n"
	c := newRigCrew(t, map[string]string{
		"pumps/pump-2.yaml": "pump: {action: triplex-single-acting}\n", "jobs/2026-10-20-pump-2-job.yaml": mine, "jobs/2026-10-20-pump-2-wiper-leaks.yaml": mine,
	}).on("2026-10-20")
	c.asks("", "3", "3", "d", "1", "the wiper on number two leaks again", "y", "q")
	assert.Equal(t, []string{"jobs/2026-10-20-pump-2-job.yaml", "jobs/2026-10-20-pump-2-wiper-leaks-2.yaml", "jobs/2026-10-20-pump-2-wiper-leaks.yaml", "pumps/pump-2.yaml"}, c.files())
	assert.Equal(t, mine, c.file("jobs/2026-10-20-pump-2-job.yaml"))
	assert.Equal(t, mine, c.file("jobs/2026-10-20-pump-2-wiper-leaks.yaml"))
}

// A size that no pump can have is asked again, and nothing is written.
func TestAPumpThatCannotBe(t *testing.T) {
	c := newRigCrew(t, map[string]string{"pumps/pump-1.yaml": "pump: {action: triplex-single-acting}\n", "jobs/none": ""}).on("2026-10-20")
	screen := c.asks("", "2", "pump 7", "2", "6", "16", "7", "d", "2", "d", "d", "d", "d", "q")
	assert.Contains(t, screen, "a piston rod of 7 in does not fit in a liner of 6 in")
	assert.True(t, strings.HasPrefix(c.file("pumps/pump-7.yaml"), "pump:\n  action: duplex-double-acting\n  name: pump 7\n# What else"), c.file("pumps/pump-7.yaml"))
}
