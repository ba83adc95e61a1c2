package upkeep

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
)

// The hours that a part ran are those between two changes, worked out by hand, over a
// new meter too: 1000 h, then 1200 h at which a meter of 0 h goes in, then 212 h more.
func TestWhatAClosedJobCameTo(t *testing.T) {
	book := builtIn(t)
	job := func(head, more string) string {
		return "job: {pump: pump-2, " + head + "}\npump: {state: running}\n" + more
	}
	r := files{
		"pumps/pump-2.yaml": "pump: {action: triplex-single-acting}\nhours:\n  - {date: 2026-01-01, hours: 900 h}\n  - {date: 2026-02-01, hours: 1200 h, new-meter: 0 h}\n",
		"jobs/1.yaml":       job("date: 2026-01-10, hours: 1000 h, closed: 2026-01-10", "confirmed: [wiper-worn-out: 2]\nchanged: [{part: wiper-set, at: 2}]\n"),
		"jobs/2.yaml": job("date: 2026-02-20, hours: 212 h, closed: 2026-02-21",
			"confirmed: [wiper-worn-out: 2, guide-and-crosshead-worn: 2, wiper-worn-out: 3, guide-and-crosshead-worn: 1]\nchanged: [{part: wiper-set, at: [2, 3]}]\n"),
		"jobs/3.yaml": job("date: 2026-03-01, closed: 2026-03-01", "confirmed: [wiper-worn-out: 2, guide-and-crosshead-worn: 2]\nbrought-on-by: [{failed: {wiper-worn-out: 2}, by: nothing}]\n"),
		"jobs/4.yaml": job("date: 2026-03-02, hours: 300 h", "confirmed: [wiper-worn-out: 2]\n"),
	}.read(t, book)
	require.Empty(t, r.Unread)
	p := r.Named("pump-2")
	require.Len(t, p.Jobs, 4)
	at := func(cylinder string) evidence.Place { return evidence.Place{Cylinder: cylinder} }
	hours := func(h float64) *float64 { return &h }
	wiper, guide := book.Causes.Get("wiper-worn-out").Title, book.Causes.Get("guide-and-crosshead-worn").Title

	first := CloseOutOf(book, p.Jobs[0], p.PumpFile)
	require.Len(t, first.Found, 1)
	assert.Equal(t, Found{Named: Named{"wiper-worn-out", wiper, at("2")}, Roots: []Named{}}, Found{Named: first.Found[0].Named, Roots: first.Found[0].Roots})

	second := CloseOutOf(book, p.Jobs[1], p.PumpFile)
	assert.Equal(t, "2026-02-21", second.Closed)
	assert.Equal(t, []Found{
		{Named: Named{"wiper-worn-out", wiper, at("2")}, Roots: []Named{{"guide-and-crosshead-worn", guide, at("2")}}, Hours: hours(200 + 212)},
		{Named: Named{"wiper-worn-out", wiper, at("3")}, Roots: []Named{}, Hours: hours(300 + 212), AtLeast: true},
		{Named: Named{"guide-and-crosshead-worn", guide, at("1")}, Roots: []Named{}},
	}, second.Found)

	third := CloseOutOf(book, p.Jobs[2], p.PumpFile)
	assert.Len(t, third.Found, 2, "the crew says that nothing brought it on")
	assert.Nil(t, third.Found[0].Hours, "nobody read the meter")
	assert.Nil(t, CloseOutOf(book, p.Jobs[3], p.PumpFile), "it is open")
}

// What was judged is told with the job as judged. It is no failure that came back, however
// often it was judged.
func TestWhatWasJudgedIsTold(t *testing.T) {
	book := builtIn(t)
	r := files{
		"pumps/pump-2.yaml": "pump: {action: triplex-single-acting}\n",
		"jobs/1.yaml":       "job: {pump: pump-2, date: 2026-01-10, closed: 2026-01-10, found: washed pin}\npump: {state: running}\njudged: [string-washout]\n",
		"jobs/2.yaml":       "job: {pump: pump-2, date: 2026-02-10, closed: 2026-02-10}\npump: {state: running}\nconfirmed: [wiper-worn-out: 2]\njudged: [string-washout]\n",
	}.read(t, book)
	require.Empty(t, r.Unread)
	p := r.Named("pump-2")
	washout := Named{ID: "string-washout", Title: book.Causes.Get("string-washout").Title}
	first := CloseOutOf(book, p.Jobs[0], p.PumpFile)
	assert.Equal(t, []Named{washout}, first.Judged)
	assert.Equal(t, "washed pin", first.Said)
	assert.Empty(t, first.Found)

	report, err := Of(book, p, Options{Now: today})
	require.NoError(t, err)
	var judged []bool
	for _, x := range report.Troubles {
		judged = append(judged, x.Judged)
	}
	assert.Equal(t, []bool{false, true, true}, judged)
	assert.Equal(t, washout, report.Troubles[2].Failed)
	assert.Empty(t, report.Again)
}
