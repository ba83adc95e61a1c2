package rig_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"telltale/evidence"
	"telltale/evidence/rig"
	"telltale/rules"
)

func words(t testing.TB) evidence.Vocabulary {
	t.Helper()
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	return book.Vocabulary()
}

// put writes the files of a rig and gives its folder.
func put(t testing.TB, files map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range files {
		path := filepath.Join(dir, name)
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
		require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
	}
	return dir
}

const pump2 = `pump: {name: Larkspur pump 2, action: triplex-single-acting, liner: 6 in, stroke: 11 in, rotation: forward}
manual: {relief-setting: 3600 psi}
measured:
  rod-in-opening:
    2: {with: feelers, resolution: 1 thou, each-reading-is: largest-leaf}
shims-on-hand: [1 thou, 5 thou]
parts:
  piston: {expected-life: 800 h}
hours:
  - {date: 2025-01-01, hours: 1000 h}
  - {date: 2025-06-01, hours: 3000 h, new-meter: 0 h}
was:
  - {until: 2025-03-01, pump: {liner: 6 1/2 in}, manual: {relief-setting: 3200 psi}}
`

const closedJob = `job: {pump: pump-2, date: 2025-02-10, hours: 1500 h, closed: 2025-02-11}
pump: {state: running}
findings: {knock: absent}
changed:
  - {part: piston, at: 2}
  - {part: piston, at: 3, still-good: yes}
shims:
  - {at: 2, put-in: 12 thou}
`

const openJob = `job: {pump: pump-2, date: 2025-07-01, hours: 400 h}
pump: {state: isolated, open: [crosshead-cover-off: 2]}
findings: {knock: present}
measured:
  rod-in-opening:
    2: {rod: parted, crosshead: seated, middle: {top: 142 thou, bottom: 117 thou}}
`

func TestAJobTakesFromItsPumpWhatItDoesNotSay(t *testing.T) {
	dir := put(t, map[string]string{"pumps/pump-2.yaml": pump2, "jobs/a.yaml": closedJob, "jobs/b.yaml": openJob})
	r, err := rig.Read(dir, words(t))
	require.NoError(t, err)
	require.Empty(t, r.Unread)
	p := r.Named("pump-2")
	require.Len(t, p.Jobs, 2)

	old, now := p.Jobs[0], p.Jobs[1]
	require.Equal(t, "6 1/2 in", old.Pump.Liner.Written, "what stood on its day")
	require.Equal(t, "3200 psi", old.Manual["relief-setting"].Written)
	require.Equal(t, "6 in", now.Pump.Liner.Written)
	require.Equal(t, "Larkspur pump 2", now.Pump.Name)
	require.Equal(t, "1 thou", now.Measured.RodInOpening[0].Resolution.Written)
	require.Len(t, now.Measured.ShimsOnHand, 2)
	require.True(t, old.Job.IsClosed())
	require.InDelta(t, 12*0.0000254, old.Shims[0].Rear, 1e-12)

	// The meter was replaced at 3000 h: 400 h on the new one are 3400 h of the pump.
	require.InDelta(t, 3400*3600, p.Total(now.Job.Date, *now.Job.Hours), 1e-6)
	require.Len(t, now.Measured.PartRecords, 1)
	record := now.Measured.PartRecords[0]
	require.Equal(t, "3400 h", record.To.Written)
	require.Equal(t, "800 h", record.Expected.Written)
	require.Len(t, record.Replaced, 3)
	require.Equal(t, "1500 h", record.Replaced[1].At[0].Written)
	require.Empty(t, record.Replaced[0].At)
	require.Equal(t, "3", record.StillGood[0].Place.String())
}

func TestOneJobIsReadAsInItsRig(t *testing.T) {
	dir := put(t, map[string]string{"pumps/pump-2.yaml": pump2, "jobs/a.yaml": closedJob, "jobs/b.yaml": openJob})
	file := filepath.Join(dir, "jobs", "b.yaml")
	w, err := rig.Words(file, []byte(openJob), words(t))
	require.NoError(t, err)
	k, err := evidence.ParseCase(file, []byte(openJob), w)
	require.NoError(t, err)
	all, err := rig.Read(dir, words(t))
	require.NoError(t, err)
	require.Equal(t, all.Named("pump-2").Jobs[1].Measured.PartRecords, k.Measured.PartRecords)

	// A job whose pump is not there says which file is wanted.
	require.NoError(t, os.Remove(filepath.Join(dir, "pumps", "pump-2.yaml")))
	_, err = rig.Words(file, []byte(openJob), words(t))
	require.ErrorIs(t, err, os.ErrNotExist)
	require.ErrorContains(t, err, "is a job on a pump of a rig; expected the pump's file at "+filepath.Join(dir, "pumps", "pump-2.yaml"))

	// A case that stands alone is read as ever.
	alone, err := rig.Words("c.yaml", []byte("pump: {action: duplex-double-acting, state: running}"), words(t))
	require.NoError(t, err)
	require.Nil(t, alone.Pump)
}

func TestMistakesHaveTheirPlaceInTheirFile(t *testing.T) {
	for name, c := range map[string]struct {
		files map[string]string
		says  []string // where, and what
	}{
		"a figure of the pump's file": {
			map[string]string{"pumps/pump-2.yaml": "pump: {action: triplex-single-acting, liner: 60 in}", "jobs/b.yaml": openJob},
			[]string{"pump-2.yaml:1:46: a liner of 60 in is too large", "b.yaml:1:13: this is a job on pump-2"},
		},
		"a job that names no pump there is": {
			map[string]string{"pumps/pump-1.yaml": pump2, "jobs/b.yaml": openJob},
			[]string{"b.yaml:1:13: this is a job on pump-2, whose file was not read"},
		},
		"a job that does not fit its pump": {
			map[string]string{"pumps/pump-2.yaml": pump2, "jobs/b.yaml": "job: {pump: pump-2, date: 2025-07-01}\npump: {state: running, piston-rod: 7 in}"},
			[]string{"b.yaml:2:36: a piston rod of 7 in does not fit in a liner of 6 in"},
		},
		"readings in the pump's file": {
			map[string]string{"pumps/pump-2.yaml": "pump: {action: triplex-single-acting}\nmeasured: {rod-in-opening: {2: {back: {top: 1 thou}}}}"},
			[]string{`pump-2.yaml:2:33: rod-in-opening of 2 has no key "back"`},
		},
		"a state in the pump's file": {
			map[string]string{"pumps/pump-2.yaml": "pump: {action: triplex-single-acting, state: running}"},
			[]string{`pump-2.yaml:1:39: the pump has no key "state"`},
		},
		"a date that is none": {
			map[string]string{"pumps/pump-2.yaml": pump2, "jobs/b.yaml": "job: {pump: pump-2, date: 4.3.2026}\npump: {state: running}"},
			[]string{`b.yaml:1:27: "4.3.2026" is no date; expected year-month-day, like 2026-03-04`},
		},
		"closed before it began": {
			map[string]string{"pumps/pump-2.yaml": pump2, "jobs/b.yaml": "job: {pump: pump-2, date: 2026-03-04, closed: 2026-03-03}\npump: {state: running}"},
			[]string{"the job was closed on 2026-03-03, before it was begun on 2026-03-04"},
		},
		"a part without its place": {
			map[string]string{"pumps/pump-2.yaml": pump2, "jobs/b.yaml": "job: {pump: pump-2, date: 2026-03-04, hours: 9 h}\npump: {state: running}\nchanged: [{part: piston}]"},
			[]string{"b.yaml:3:11: piston was put in new, but where?"},
		},
		"a part without the hours": {
			map[string]string{"pumps/pump-2.yaml": pump2, "jobs/b.yaml": "job: {pump: pump-2, date: 2026-03-04}\npump: {state: running}\nchanged: [{part: piston, at: 2}]"},
			[]string{"b.yaml:3:10: a part that was put in new counts from the hours of the pump"},
		},
		"a part that nobody knows": {
			map[string]string{"pumps/pump-2.yaml": pump2, "jobs/b.yaml": "job: {pump: pump-2, date: 2026-03-04, hours: 9 h}\npump: {state: running}\nchanged: [{part: pistn, at: 2}]"},
			[]string{`unknown part "pistn"`, "piston"},
		},
		"a meter that runs backwards": {
			map[string]string{"pumps/pump-2.yaml": "pump: {action: triplex-single-acting}\nhours:\n  - {date: 2025-01-01, hours: 900 h}\n  - {date: 2025-02-01, hours: 90 h}"},
			[]string{"pump-2.yaml:4:5: the meter showed 900 h before and 90 h now; a new meter is told by new-meter:"},
		},
		"shims of nothing": {
			map[string]string{"pumps/pump-2.yaml": pump2, "jobs/b.yaml": "job: {pump: pump-2, date: 2026-03-04}\npump: {state: running}\nshims: [{at: 2}]"},
			[]string{"b.yaml:3:9: no shim here"},
		},
		"a name that leads elsewhere": {
			map[string]string{"pumps/pump-2.yaml": pump2, "jobs/b.yaml": "job: {pump: ../pump-2, date: 2026-03-04}\npump: {action: triplex-single-acting, state: running}"},
			[]string{`b.yaml:1:13: "../pump-2" is no name of a pump's file`},
		},
	} {
		t.Run(name, func(t *testing.T) {
			r, err := rig.Read(put(t, c.files), words(t))
			require.NoError(t, err)
			require.NotEmpty(t, r.Unread)
			all := ""
			for _, u := range r.Unread {
				all += u.Err.Error() + "\n"
			}
			for _, want := range c.says {
				require.Contains(t, all, want)
			}
		})
	}
}

// A job weighs the newest changes: a record of many years starts at the first of them.
func TestAJobWeighsTheNewestChanges(t *testing.T) {
	files := map[string]string{"pumps/pump-2.yaml": "pump: {action: triplex-single-acting}\nhours: [{date: 2020-01-01, hours: 0 h}]", "jobs/open.yaml": "job: {pump: pump-2, date: 2026-01-01, hours: 9000 h}\npump: {state: running}"}
	for i := range 50 {
		date := time.Date(2020, 1, 2+i, 0, 0, 0, 0, time.UTC).Format(evidence.DateForm)
		files["jobs/"+date+".yaml"] = fmt.Sprintf("job: {pump: pump-2, date: %s, hours: %d h, closed: %s}\npump: {state: running}\nchanged: [{part: piston, at: %d, still-good: yes}]", date, 100+100*i, date, 1+i%3)
	}
	r, err := rig.Read(put(t, files), words(t))
	require.NoError(t, err)
	require.Empty(t, r.Unread)
	jobs := r.Named("pump-2").Jobs
	record := jobs[len(jobs)-1].Measured.PartRecords[0]
	require.Equal(t, "1100 h", record.From.Written)
	changes, good := 0, 0
	for i, at := range record.Replaced {
		changes, good = changes+len(at.At), good+len(record.StillGood[i].At)
		require.Len(t, at.Pos, len(at.At))
	}
	require.Equal(t, 40, changes)
	require.Equal(t, 40, good)
}

// A job that cannot be read is named, and the rest goes on.
func TestOneBadJobSpoilsNothing(t *testing.T) {
	dir := put(t, map[string]string{
		"pumps/pump-2.yaml": pump2, "jobs/a.yaml": closedJob, "jobs/b.yaml": openJob,
		"jobs/bad.yaml": "job: [", "jobs/alone.yaml": "pump: {action: duplex-double-acting, state: running}", "jobs/notes.txt": "x", "jobs/.hidden.yaml": "job: [",
	})
	require.NoError(t, os.Symlink("/etc/hostname", filepath.Join(dir, "jobs", "out.yaml")))
	r, err := rig.Read(dir, words(t))
	require.NoError(t, err)
	require.Len(t, r.Named("pump-2").Jobs, 2)
	require.Len(t, r.Unread, 3)
	require.Equal(t, filepath.Join(dir, "jobs", "alone.yaml"), r.Unread[0].Path)
	require.ErrorContains(t, r.Unread[0].Err, "without job: is of no pump")
	require.Equal(t, filepath.Join(dir, "jobs", "bad.yaml"), r.Unread[1].Path)
	require.Equal(t, filepath.Join(dir, "jobs", "out.yaml"), r.Unread[2].Path)
	require.Contains(t, r.Unread[2].Err.Error(), "it leads out of this folder")
}

func TestAFolderWithoutPumpsIsNoRig(t *testing.T) {
	_, err := rig.Read(t.TempDir(), words(t))
	var none *rig.NoRigError
	require.ErrorAs(t, err, &none)
	_, err = rig.Read(filepath.Join(t.TempDir(), "nowhere"), words(t))
	require.ErrorIs(t, err, os.ErrNotExist)
}

// Twenty pumps with five hundred jobs each.
func BenchmarkRead(b *testing.B) {
	files := map[string]string{}
	for p := range 20 {
		name := "pump-" + string(rune('a'+p))
		files["pumps/"+name+".yaml"] = pump2
		for j := range 500 {
			date := time.Date(2020, 1, 1+j, 0, 0, 0, 0, time.UTC).Format(evidence.DateForm)
			files["jobs/"+date+"-"+name+".yaml"] = "job: {pump: " + name + ", date: " + date + ", hours: 1500 h, closed: " + date + "}\n" + closedJob[len("job: {pump: pump-2, date: 2025-02-10, hours: 1500 h, closed: 2025-02-11}\n"):]
		}
	}
	dir, w := put(b, files), words(b)
	for b.Loop() {
		r, err := rig.Read(dir, w)
		require.NoError(b, err)
		require.Len(b, r.Named("pump-a").Jobs, 500)
	}
}
