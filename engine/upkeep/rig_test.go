package upkeep

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
	"telltale/evidence/rig"
	"telltale/rules"
)

// files are the files of a rig of a test, by their paths in its folder.
type files map[string]string

func builtIn(t testing.TB) *rules.Book {
	t.Helper()
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	return book
}

// read writes a rig and reads it.
func (f files) read(t testing.TB, book *rules.Book) *rig.Rig {
	t.Helper()
	dir := t.TempDir()
	for name, text := range f {
		path := filepath.Join(dir, name)
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
		require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
	}
	r, err := rig.Read(dir, book.Vocabulary())
	require.NoError(t, err)
	return r
}

// of is the report of the pump of a rig that has one, whose files can all be used.
func (f files) of(t testing.TB) *Report {
	t.Helper()
	book := builtIn(t)
	r := f.read(t, book)
	require.Empty(t, r.Unread)
	require.Len(t, r.Pumps, 1)
	report, err := Of(book, &r.Pumps[0], Options{Now: today})
	require.NoError(t, err)
	return report
}

// On this day the meters of the pumps of these tests were read last.
var today = time.Date(2025, 10, 28, 0, 0, 0, 0, time.UTC)

// pump runs 10 h each day: 1000 h on 2025-01-01, 3000 h on 2025-07-20, when a meter from 0
// was put in, and 1000 h of that, 4000 h of its life, on 2025-10-28.
const pump = `pump: {name: Pump of the test, action: triplex-single-acting, liner: 6 in, stroke: 11 in, rotation: forward}
manual: {rod-off-centre-most: 12 thou, guide-clearance-least: 15 thou, guide-clearance-most: 32 thou}
measured:
  rod-in-opening:
    2: {with: feelers, resolution: 1 thou, each-reading-is: largest-leaf}
hours:
  - {date: 2025-01-01, hours: 1000 h}
  - {date: 2025-04-11, hours: 2000 h}
  - {date: 2025-07-20, hours: 3000 h, new-meter: 0 h}
  - {date: 2025-10-28, hours: 1000 h}
dated:
  - {what: discharge hose, until: 2025-10-01}
  - {what: relief valve test, until: 2025-11-17}
`

// job is a closed job on a day and at what the meter shows.
func job(date string, hours float64, more string) string {
	return fmt.Sprintf("job: {pump: pump-1, date: %s, hours: %g h, closed: %s}\npump: {state: running}\nfindings: {knock: absent}\n%s", date, hours, date, more)
}

func find(t *testing.T, r *Report, kind DueKind, id string, at string) *Due {
	t.Helper()
	for i, d := range r.Due {
		if d.Kind == kind && d.ID == id && d.Place.Cylinder == at {
			return &r.Due[i]
		}
	}
	return nil
}

// The figures are worked out by hand from the meter: on 2025-10-18 it showed 900 h, which
// is 3900 h of the pump's life.
func TestWhatFallsDueByTheHours(t *testing.T) {
	f := files{
		"pumps/pump-1.yaml": pump,
		"jobs/a.yaml":       job("2025-02-20", 1500, "changed: [{part: piston, at: 3}]\n"),                                                          // a look at 1524 h, long ago
		"jobs/b.yaml":       job("2025-10-18", 900, "changed: [{part: piston, at: 2}]\nconfirmed: [piston-worn: 2]\ncorrected: [piston-worn: 2]\n"), // a look at 3924 h, and again at the repair
		"jobs/c.yaml":       job("2025-10-27", 990, "changed: [{part: liner, at: 1}]\n"),                                                            // a look at 4014 h
	}
	r := f.of(t)
	assert.InDelta(t, 4000, r.AsOf.Hours, 1e-9)
	assert.Equal(t, "2025-10-28", r.AsOf.Date)
	assert.InDelta(t, 10, r.PerDay.Hours, 1e-9)
	assert.Equal(t, 1, r.Past, "the look of the first piston")

	past := find(t, r, DueAfter, "rod-joint-again", "2")
	require.NotNil(t, past)
	assert.InDelta(t, 3924, *past.Hours.Middle, 1e-9)
	assert.InDelta(t, -76, *past.Left, 1e-9)
	assert.True(t, past.Overdue)
	assert.Nil(t, find(t, r, DueAfter, "rod-joint-again", "1"))
	next := find(t, r, DueAfter, "liner-fixing-again", "1")
	require.NotNil(t, next)
	assert.InDelta(t, 4014, *next.Hours.Middle, 1e-9)
	assert.InDelta(t, 14, *next.Left, 1e-9)
	assert.False(t, next.Overdue)
	assert.Equal(t, "2025-10-29", next.Days.Middle, "14 h of 10 a day are 1.4 days")

	again := find(t, r, DueLook, "piston-worn", "2")
	require.NotNil(t, again)
	assert.True(t, again.Overdue)
	assert.InDelta(t, 3900, *again.Hours.Middle, 1e-9)
	hose, relief := find(t, r, DueDated, "discharge hose", ""), find(t, r, DueDated, "relief valve test", "")
	assert.True(t, hose.Overdue)
	assert.False(t, relief.Overdue)
	assert.InDelta(t, 200, *relief.Left, 1e-9, "20 days of 10 h")
	assert.True(t, slices.IsSortedFunc(r.Due, func(a, b Due) int {
		if a.Overdue != b.Overdue {
			return map[bool]int{true: -1, false: 1}[a.Overdue]
		}
		return int(math.Copysign(1, a.order()-b.order()))
	}), "overdue first, then by the hours")

	for _, in := range r.Lives[slices.IndexFunc(r.Lives, func(l Life) bool { return l.Part.Part == "piston" })].InNow {
		switch in.Place.Cylinder {
		case "1":
			assert.False(t, in.Known)
			assert.InDelta(t, 3000, in.Age, 1e-9, "since the record began at 1000 h")
		case "2":
			assert.True(t, in.Known)
			assert.InDelta(t, 100, in.Age, 1e-9)
		case "3":
			assert.InDelta(t, 2500, in.Age, 1e-9)
		}
	}

	f["jobs/d.yaml"] = job("2025-10-28", 1000, "upkeep-done: [rod-joint-again: 2]\n")
	f["jobs/b.yaml"] += "looked-again: [piston-worn: 2]\n"
	r = f.of(t)
	assert.Nil(t, find(t, r, DueAfter, "rod-joint-again", "2"), "it was done")
	assert.Nil(t, find(t, r, DueLook, "piston-worn", "2"), "it was looked at again")
}

// By this age the rulebook's share has failed: 1 - exp(-(age/scale)^shape) = share
// (Weibull 1951), worked out from the fit of the record.
func TestAPartFallsDueByItsLives(t *testing.T) {
	f := files{"pumps/pump-1.yaml": strings.Replace(pump, "{date: 2025-07-20, hours: 3000 h, new-meter: 0 h}", "{date: 2025-07-20, hours: 3000 h}", 1)}
	f["pumps/pump-1.yaml"] = strings.Replace(f["pumps/pump-1.yaml"], "{date: 2025-10-28, hours: 1000 h}", "{date: 2025-10-28, hours: 4000 h}", 1)
	begin, n := time.Date(2025, 1, 1, 0, 0, 0, 0, time.UTC), 0
	for cylinder := 1; cylinder <= 3; cylinder++ {
		at := 1000.0 + 30*float64(cylinder)
		for at < 3900 {
			n++
			day := begin.AddDate(0, 0, int(at-1000)/10)
			f[fmt.Sprintf("jobs/%02d.yaml", n)] = job(day.Format(evidence.DateForm), at, fmt.Sprintf("changed: [{part: piston, at: %d}]\n", cylinder))
			at += 480 + 10*float64(n%7)
		}
	}
	r := f.of(t)
	l := r.Lives[slices.IndexFunc(r.Lives, func(l Life) bool { return l.Part.Part == "piston" })]
	fit := l.Ends[0].Fit
	require.NotNil(t, fit)
	want := fit.Scale * math.Pow(-math.Log(1-builtIn(t).Due.PartShare), 1/fit.Shape.Value)
	for _, in := range l.InNow {
		require.NotNil(t, in.DueAge)
		assert.InDelta(t, want, in.DueAge.Value, 1e-6*want)
		d := find(t, r, DuePart, "piston", in.Place.Cylinder)
		require.NotNil(t, d)
		assert.InDelta(t, 4000-in.Age+want, *d.Hours.Middle, 1e-6*want)
	}
}

// rod is a reading of the rod in the opening of cylinder 2, top and bottom in thou.
func rod(key string, top, bottom int) string {
	return fmt.Sprintf("%s:\n  rod-in-opening:\n    2: {with: feelers, resolution: 1 thou, each-reading-is: largest-leaf, rod: parted, crosshead: seated, middle: {top: %d thou, bottom: %d thou}}\n", key, top, bottom)
}

// Half of top less bottom is how low the rod stands. Shims begin a run, new shoes a
// series; what was measured again after the repair is the first of its run.
func TestRunsAndSeriesOfATrend(t *testing.T) {
	r := files{
		"pumps/pump-1.yaml": pump,
		"jobs/a.yaml":       job("2025-02-10", 1400, rod("measured", 134, 126)),                                                                                           // 4 thou
		"jobs/b.yaml":       job("2025-05-01", 2200, rod("measured", 142, 118)+"shims: [{at: 2, put-in: 12 thou}]\n"+rod("measured-again", 130, 130)),                     // 12 thou, then 0
		"jobs/c.yaml":       job("2025-08-09", 200, rod("measured", 133, 127)),                                                                                            // 3 thou at 3200 h
		"jobs/d.yaml":       job("2025-09-08", 500, rod("measured", 136, 124)+"changed: [{part: crosshead-shoes, at: 2}]\n"+rod("measured-again", 131, 129)),              // 6, then 1 with new shoes
		"jobs/e.yaml":       "job: {pump: pump-1, date: 2025-10-01, closed: 2025-10-01}\npump: {state: running}\nfindings: {knock: absent}\n" + rod("measured", 135, 125), // no hours
	}.of(t)
	i := slices.IndexFunc(r.Trends, func(x Trend) bool { return x.ID == "rod-height" && x.Place.Cylinder == "2" })
	require.GreaterOrEqual(t, i, 0)
	const thou = 25.4e-6
	type row struct {
		hours, low  float64
		series, run int
		again       bool
	}
	var got []row
	for _, read := range r.Trends[i].Readings {
		got = append(got, row{read.Hours, math.Round(read.Metres/thou*10) / 10, read.Series, read.Run, read.Again})
	}
	assert.Equal(t, []row{{1400, 4, 0, 0, false}, {2200, 12, 0, 0, false}, {2200, 0, 0, 1, true}, {3200, 3, 0, 1, false}, {3500, 6, 0, 1, false}, {3500, 1, 1, 0, true}}, got)
	assert.Equal(t, 1, r.Trends[i].Last)
	assert.Equal(t, 1, r.Trends[i].counted())
	assert.InDelta(t, 12*thou, r.Trends[i].Limit, 1e-9)
	assert.Contains(t, strings.Join(r.Missing, "\n"), "e.yaml has readings, but says no hours")
}

// A reading of the meter that the pump's own list speaks against is left out and named;
// of two jobs that speak against each other alone nobody knows which is wrong.
func TestAMeterThatDoesNotGo(t *testing.T) {
	f := files{"pumps/pump-1.yaml": pump, "jobs/a.yaml": job("2025-05-01", 2900, ""), "jobs/b.yaml": job("2025-05-02", 2210, "")}
	r := f.of(t)
	require.NotNil(t, r.PerDay, "dates are told all the same")
	assert.InDelta(t, 10, r.PerDay.Hours, 0.2)
	said := strings.Join(r.Missing, "\n")
	assert.Contains(t, said, "a.yaml (2025-05-01: 2900 h) is not counted")
	assert.NotContains(t, said, "b.yaml (2025-05-02: 2210 h) is not counted")

	f["jobs/a.yaml"] = job("2025-05-01", 2230, "")
	said = strings.Join(f.of(t).Missing, "\n")
	assert.Contains(t, said, "a.yaml (2025-05-01: 2230 h) is not counted")
	assert.Contains(t, said, "b.yaml (2025-05-02: 2210 h) is not counted")
}

// dueAt are what falls due, with the hours of it.
func dueAt(t *testing.T, r *Report) (out []string) {
	for _, d := range r.Due {
		text, err := json.Marshal(d.Hours)
		require.NoError(t, err)
		out = append(out, d.ID+" "+d.Place.String()+" "+string(text))
	}
	return out
}

// A clock that was put back or forward a year changes neither the order of the jobs nor
// what their hours come to; jobs that are then ahead of the day are told.
func TestAClockThatJumps(t *testing.T) {
	f := files{
		"pumps/pump-1.yaml": pump,
		"jobs/a.yaml":       job("2025-10-18", 900, "changed: [{part: piston, at: 2}]\n"),
		"jobs/b.yaml":       job("2025-10-28", 1000, "changed: [{part: piston, at: 3}]\n"),
	}
	book := builtIn(t)
	r := f.read(t, book)
	of := func(day time.Time) *Report {
		report, err := Of(book, &r.Pumps[0], Options{Now: day})
		require.NoError(t, err)
		return report
	}
	right := of(today)
	for _, years := range []int{-100, -1, 1, 100} {
		then := of(today.AddDate(years, 0, 0))
		assert.Equal(t, right.AsOf, then.AsOf, "%d years", years)
		assert.Equal(t, right.Troubles, then.Troubles, "%d years", years)
		assert.ElementsMatch(t, dueAt(t, right), dueAt(t, then), "%d years", years)
		told := slices.ContainsFunc(then.Missing, func(m string) bool {
			return strings.Contains(m, "the day of this report: 2, the last b.yaml (2025-10-28); put right")
		})
		assert.Equal(t, years < 0, told, "%d years: %v", years, then.Missing)
	}
	assert.NotContains(t, strings.Join(right.Missing, "\n"), "day of this report")
}

func TestAPumpWithoutAMeter(t *testing.T) {
	r := files{
		"pumps/pump-1.yaml": "pump: {action: triplex-single-acting}\ndated: [{what: discharge hose, until: 2025-10-01}]\n",
		"jobs/a.yaml":       "job: {pump: pump-1, date: 2025-10-01}\npump: {state: running}\nfindings: {knock: present}\nconfirmed: [piston-worn: 2]\ncorrected: [piston-worn: 2]\n",
	}.of(t)
	assert.Nil(t, r.AsOf)
	assert.Nil(t, r.PerDay)
	assert.Contains(t, strings.Join(r.Missing, "\n"), "nobody read the hour meter")
	assert.Equal(t, 2, r.Overdue(), "the hose, and the look again")
	assert.Nil(t, find(t, r, DueLook, "piston-worn", "2").Left)
}

// The same failure at the same place again, with the hours between, and the root that was
// found at last.
func TestWhatComesBack(t *testing.T) {
	found := func(more string) string { return "confirmed: [wiper-worn-out: 2" + more }
	r := files{
		"pumps/pump-1.yaml": pump,
		"jobs/a.yaml":       job("2025-02-10", 1400, found("]\ncorrected: [wiper-worn-out: 2]\nlooked-again: [wiper-worn-out: 2]\n")),
		"jobs/b.yaml":       job("2025-05-01", 2200, found(", piston-worn: 1]\n")),
		"jobs/c.yaml":       job("2025-08-09", 200, found(", guide-and-crosshead-worn: 2]\nbrought-on-by: [{failed: {wiper-worn-out: 2}, by: {guide-and-crosshead-worn: 2}}]\n")),
	}.of(t)
	require.Len(t, r.Again, 1)
	again := r.Again[0]
	assert.Equal(t, "wiper-worn-out", again.ID)
	assert.Equal(t, []string{"2025-02-10", "2025-05-01", "2025-08-09"}, again.Times)
	assert.InDeltaSlice(t, []float64{800, 1000}, again.Hours, 1e-9)
	require.NotNil(t, again.Root)
	assert.Equal(t, "guide-and-crosshead-worn", again.Root.ID)
}

// rigOfThree has a pump at a well that flows, one that hisses, and one without an open job
// and something overdue; and two files that cannot be used.
func rigOfThree() files {
	of := func(name, text string) string { return strings.ReplaceAll(text, "pump-1", name) }
	plain := strings.Replace(pump, "  - {what: discharge hose, until: 2025-10-01}\n", "", 1)
	return files{
		"pumps/pump-1.yaml": plain, "pumps/pump-2.yaml": plain, "pumps/pump-3.yaml": pump, "pumps/pump-4.yaml": plain,
		"pumps/pump-9.yaml": "pump: {action: quadruplex}\n",
		"jobs/a.yaml":       "job: {pump: pump-2, date: 2025-10-28}\npump: {state: running}\nfindings: {hiss: {2: suction-stroke, absent: [1, 3]}, gauge-kick: present}\n",
		"jobs/b.yaml":       "job: {pump: pump-4, date: 2025-10-28}\npump: {state: running}\nfindings: {pit-gain: present}\n",
		"jobs/c.yaml":       of("pump-3", job("2025-10-18", 900, "changed: [{part: piston, at: 2}]\n")),
		"jobs/d.yaml":       "job: {pump: pump-1, date: 2025-13-01}\n",
	}
}

func TestTheWorstPumpFirst(t *testing.T) {
	book := builtIn(t)
	r, err := OfRig(book, rigOfThree().read(t, book), Options{Now: today, Brief: true})
	require.NoError(t, err)
	var order []string
	for _, p := range r.Pumps {
		order = append(order, p.Pump)
	}
	assert.Equal(t, []string{"pump-4", "pump-2", "pump-3", "pump-1"}, order, "a stop, then what waits least, then what is overdue")
	assert.Equal(t, 2, r.Pumps[2].Overdue())
	var unread []string
	for _, u := range r.Unread {
		unread = append(unread, filepath.Base(u.File))
	}
	assert.ElementsMatch(t, []string{"pump-9.yaml", "d.yaml"}, unread)
}

// A list with nothing in it is written as one, never as null.
func TestNoListIsNull(t *testing.T) {
	book := builtIn(t)
	r := rigOfThree().read(t, book)
	whole, err := OfRig(book, r, Options{Now: today, CostRatio: 4})
	require.NoError(t, err)
	stop, err := OfStop(book, r, Options{Now: today}, 12)
	require.NoError(t, err)
	for _, v := range []any{whole, stop} {
		text, err := json.MarshalIndent(v, "", " ")
		require.NoError(t, err)
		for _, line := range strings.Split(string(text), "\n") {
			assert.NotContains(t, line, "null")
		}
	}
}

// What the files of the jobs are called, and so in which order they are read, changes
// nothing.
func TestTheOrderOfTheFilesDoesNotMatter(t *testing.T) {
	jobs := []string{
		job("2025-02-10", 1400, rod("measured", 134, 126)+"changed: [{part: piston, at: 1}]\n"),
		job("2025-05-01", 2200, rod("measured", 142, 118)+"shims: [{at: 2, put-in: 12 thou}]\n"+rod("measured-again", 130, 130)),
		job("2025-08-09", 200, rod("measured", 133, 127)+"confirmed: [wiper-worn-out: 2]\ncorrected: [wiper-worn-out: 2]\n"),
		job("2025-09-08", 500, "changed: [{part: piston, at: 1}, {part: liner, at: 1, still-good: yes}]\nconfirmed: [wiper-worn-out: 2]\n"),
		"job: {pump: pump-1, date: 2025-10-20, hours: 920 h}\npump: {state: running}\nfindings: {hiss: {2: suction-stroke, absent: [1, 3]}}\n",
	}
	book, random := builtIn(t), rand.New(rand.NewPCG(1, 2))
	var first string
	for range 6 {
		f := files{"pumps/pump-1.yaml": pump}
		var back []string
		for i, at := range random.Perm(len(jobs)) {
			name := fmt.Sprintf("job-%c.yaml", 'a'+at)
			f["jobs/"+name] = jobs[i]
			back = append(back, name, fmt.Sprintf("the job %d", i))
		}
		r := f.read(t, book)
		report, err := Of(book, &r.Pumps[0], Options{Now: today})
		require.NoError(t, err)
		text, err := json.Marshal(report)
		require.NoError(t, err)
		told := strings.NewReplacer(append(back, r.Dir, "")...).Replace(string(text))
		if first == "" {
			first = told
		}
		assert.Equal(t, first, told)
	}
}
