package record

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
	"telltale/evidence/rig"
)

const standing = `# The pump next to the shaker house.
pump:
  action: triplex-single-acting
  liner: 6 1/2 in   # since the last well
hours:
  - {date: 2026-01-01, hours: 100 h}
`

func day(n int) time.Time { return time.Date(2026, 1, n, 0, 0, 0, 0, time.UTC) }

func openPump(t *testing.T, text string) *PumpFile {
	path := filepath.Join(t.TempDir(), "pump-2.yaml")
	require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	f, err := OpenPump("", path, words(), false)
	require.NoError(t, err)
	return f
}

// What an edit does not touch stays in a pump's file as it was written.
func TestEditsOfAPumpsFile(t *testing.T) {
	f := openPump(t, standing)
	require.NoError(t, f.Write(Was(day(20), "pump", "liner", "6 1/2 in"), SetPump("liner", "6 in"), AddMeter(day(20), "412 h")))
	require.NoError(t, f.Write(Was(day(20), "manual", "cap-torque", "300 ft lbf"), Was(day(20), "pump", "liner", "7 in"), SetManual("cap-torque", "310 ft lbf")))
	assert.Equal(t, `# The pump next to the shaker house.
pump:
  action: triplex-single-acting
  liner: 6 in       # since the last well
hours:
  - {date: 2026-01-01, hours: 100 h}
  - {date: 2026-01-20, hours: 412 h}
was:
  - {until: 2026-01-20, pump: {liner: 6 1/2 in}, manual: {cap-torque: 300 ft lbf}}
manual:
  cap-torque: 310 ft lbf
`, read(t, f.file.path))
	p, err := f.Pump()
	require.NoError(t, err)
	assert.Equal(t, "pump-2", p.Name)
	assert.Len(t, p.Meter, 2)
}

// A job is opened with what stands of its pump; without the pump's file it is not
// opened, and a case that stands alone needs none.
func TestAJobIsOpenedWithItsPump(t *testing.T) {
	dir := t.TempDir()
	for name, text := range map[string]string{
		"pumps/pump-2.yaml": standing, "jobs/wiper.yaml": "job: {pump: pump-2, date: 2026-01-05}\npump: {state: running}\n",
		"jobs/lost.yaml": "job: {pump: pump-9, date: 2026-01-05}\npump: {state: running}\n", "alone.yaml": "pump: {action: triplex-single-acting, state: running}\n",
	} {
		path := filepath.Join(dir, name)
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
		require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	}
	f, err := OpenCase("", filepath.Join(dir, "jobs", "wiper.yaml"), words(), false)
	require.NoError(t, err)
	k, err := f.Case()
	require.NoError(t, err)
	assert.Equal(t, "6 1/2 in", k.Pump.Liner.Written)
	assert.Equal(t, "pump-2", f.Words().Pump.Name)
	f, err = OpenCase("", filepath.Join(dir, "alone.yaml"), words(), false)
	require.NoError(t, err)
	assert.Nil(t, f.Words().Pump)
	_, err = OpenCase("", filepath.Join(dir, "jobs", "lost.yaml"), words(), false)
	var none *rig.NoPumpError
	assert.ErrorAs(t, err, &none)
	_, err = OpenCase("", filepath.Join(dir, "jobs", "new.yaml"), words(), false)
	assert.ErrorIs(t, err, os.ErrNotExist)
	f, err = OpenCase("", filepath.Join(dir, "jobs", "new.yaml"), words(), true)
	require.NoError(t, err)
	assert.Empty(t, f.Text())
}

// What the file cannot take is refused, and it stays as it was.
func TestWhatAPumpsFileCannotTake(t *testing.T) {
	for name, edits := range map[string][]Edit{
		"a meter that runs back":  {AddMeter(day(20), "90 h")},
		"a day before the last":   {Was(day(20), "pump", "liner", "7 in"), Was(day(10), "pump", "liner", "8 in")},
		"a state":                 {Edit{func(d *draft) error { return setOne("running", "pump", "state").do(d) }}},
		"no size":                 {SetPump("liner", "wide")},
		"a figure of no manual":   {SetManual("cap-torc", "3 ft lbf")},
		"a liner beyond all mind": {SetPump("liner", "6 m")},
	} {
		t.Run(name, func(t *testing.T) {
			f := openPump(t, standing)
			err := f.Write(edits...)
			var refused *RefusedError
			require.ErrorAs(t, err, &refused)
			assert.Equal(t, standing, read(t, f.file.path))
		})
	}
	f := openPump(t, "pump: {action: triplex}\n")
	require.Error(t, f.Write(SetPump("liner", "6 in")), "mistakes are mended by hand")
	assert.Equal(t, "pump: {action: triplex}\n", read(t, f.file.path))
}

// A new pump never takes the place of a file that somebody made meanwhile.
func TestANewPumpTakesNobodysPlace(t *testing.T) {
	path := filepath.Join(t.TempDir(), "pump-2.yaml")
	mine, err := OpenPump("", path, words(), true)
	require.NoError(t, err)
	theirs, err := OpenPump("", path, words(), true)
	require.NoError(t, err)
	require.NoError(t, theirs.Start([]byte(standing)))
	var changed *ChangedError
	require.ErrorAs(t, mine.Start([]byte("pump: {action: duplex-double-acting}\n")), &changed)
	assert.Equal(t, standing, read(t, path))
	bad, err := OpenPump("", filepath.Join(t.TempDir(), "pump-3.yaml"), words(), true)
	require.NoError(t, err)
	var refused *RefusedError
	require.ErrorAs(t, bad.Start([]byte("hours: []\n")), &refused)
}

// Many who write to one pump's file at once, each after reading what the others
// wrote, lose nothing; whoever stops half-way leaves the file whole.
func TestRivalsLoseNothingOfAPumpsFile(t *testing.T) {
	path := openPump(t, standing).file.path
	const writers, each = 4, 5
	limits := map[string]evidence.Dimension{}
	words := words()
	for i := range writers * each {
		limits[fmt.Sprintf("limit-%d", i)] = evidence.Length
	}
	words.Limits = limits
	var all sync.WaitGroup
	for n := range writers {
		all.Go(func() {
			f, err := OpenPump("", path, words, false)
			if !assert.NoError(t, err) {
				return
			}
			for i := range each {
				if stopped := false; n == 0 { // one of them is stopped once at each answer
					stop := stopAt(i, func() error { stopped = true; return errStopped })
					f.file.steps = func(step string) error {
						if stopped {
							return nil
						}
						return stop(step)
					}
				}
				for {
					err := f.Write(SetManual(fmt.Sprintf("limit-%d", n*each+i), "1 thou"))
					var changed *ChangedError
					if err == nil {
						break
					}
					if !errors.As(err, &changed) && !assert.ErrorIs(t, err, errStopped) {
						return
					}
					if !assert.NoError(t, f.Reread()) {
						return
					}
				}
			}
		})
	}
	all.Wait()
	f, err := OpenPump("", path, words, false)
	require.NoError(t, err)
	p, err := f.Pump()
	require.NoError(t, err)
	assert.Len(t, p.Manual, writers*each)
	assert.True(t, slices.Contains(entries(t, filepath.Dir(path)), "pump-2.yaml"))
	assert.Len(t, entries(t, filepath.Dir(path)), 1)
}

func entries(t *testing.T, dir string) (out []string) {
	all, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, e := range all {
		out = append(out, e.Name())
	}
	return out
}

// What a job says of itself, of parts and shims.
func TestEditsOfAJob(t *testing.T) {
	p := openPump(t, standing)
	pump, err := p.Pump()
	require.NoError(t, err)
	words := words()
	words.Pump = pump
	words.Parts = map[string]evidence.PartWord{"piston": {Level: evidence.OfCylinder}, "oil": {Level: evidence.OfPump}}
	words.Upkeep = map[string]evidence.Level{"clamps-again": evidence.OfCylinder}
	text := "job: {pump: pump-2, date: 2026-01-20}   # night tour\npump: {state: running}\n"
	out, _, err := Apply("job.yaml", []byte(text), words, SetJob(JobHours, "412 h"), PutInNew("piston", at("2"), true), PutInNew("oil", at(""), false),
		Shims(at("2"), &Pack{Rear: "12 thou"}, nil), Shims(at("1"), &Pack{Rear: "2 thou", Front: "3 thou"}, &Pack{Rear: "5 thou"}), UpkeepDone("clamps-again", at("2")), SetJob(JobClosed, "2026-01-21"))
	require.NoError(t, err)
	assert.Equal(t, `job: {pump: pump-2, date: 2026-01-20, hours: 412 h, closed: 2026-01-21}  # night tour
pump: {state: running}
changed:
  - {part: piston, at: 2, still-good: yes}
  - part: oil
shims:
  - {at: 2, put-in: 12 thou}
  - {at: 1, put-in: {rear: 2 thou, front: 3 thou}, taken-out: 5 thou}
upkeep-done:
  - clamps-again: 2
`, string(out))
	_, _, err = Apply("job.yaml", []byte(text), words, PutInNew("piston", at("2"), false))
	require.ErrorContains(t, err, "hours", "a part counts from the hours of the pump")
	_, _, err = Apply("job.yaml", out, words, PutInNew("piston", at("2"), false))
	require.ErrorContains(t, err, "twice")
	_, _, err = Apply("job.yaml", out, words, SetJob(JobClosed, "2026-01-19"))
	require.ErrorContains(t, err, "before it was begun")
}

// A file takes a free name only, and only as it was read.
func TestAFileIsMoved(t *testing.T) {
	path := write(t, triplex)
	f := open(t, path)
	other := filepath.Join(filepath.Dir(path), "other.yaml")
	require.NoError(t, os.WriteFile(other, []byte("mine"), 0o600))
	require.ErrorIs(t, f.Move(other), os.ErrExist)
	assert.Equal(t, "mine", read(t, other))
	f.steps = func(string) error { return errStopped }
	free := filepath.Join(filepath.Dir(path), "free.yaml")
	require.ErrorIs(t, f.Move(free), errStopped)
	assert.Equal(t, []string{filepath.Base(path), "other.yaml"}, entries(t, filepath.Dir(path)))
	f.steps = nil
	require.NoError(t, f.Move(free))
	_, err := f.Write(SetPump("name", "on"))
	require.NoError(t, err)
	assert.Contains(t, read(t, free), "on")
	assert.Equal(t, []string{"free.yaml", "other.yaml"}, entries(t, filepath.Dir(path)))
	require.NoError(t, os.WriteFile(free, []byte(duplex), 0o600))
	var changed *ChangedError
	require.ErrorAs(t, f.Move(path), &changed)
}
