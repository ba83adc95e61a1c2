package pages

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine"
	"telltale/engine/upkeep"
	"telltale/evidence"
	"telltale/rules"
)

func TestACloseOutIsOneLine(t *testing.T) {
	two, hours := evidence.Place{Cylinder: "2"}, 412.3
	wiper := upkeep.Named{ID: "wiper-worn-out", Title: "Wiper worn out", Place: two}
	low := upkeep.Named{ID: "low", Title: "Crosshead low", Place: two}
	for want, c := range map[string]upkeep.CloseOut{
		"Closed 2026-10-25: wiper worn out, cylinder 2, after 412 h; brought on by crosshead low.": {Found: []upkeep.Found{{Named: wiper, Roots: []upkeep.Named{low}, Hours: &hours}}},
		"Closed 2026-10-25: wiper worn out, cylinder 2, after at least 412 h. Also crosshead low, cylinder 2.": {Found: []upkeep.Found{
			{Named: wiper, Hours: &hours, AtLeast: true}, {Named: low}}},
		"Closed 2026-10-25: nothing was proved.": {},
		"Closed 2026-10-25: judged, not proved: crosshead low, cylinder 2. The crew found: guide burnt blue.": {Judged: []upkeep.Named{low}, Said: "guide burnt blue."},
		"Closed 2026-10-25: wiper worn out, cylinder 2. Also judged, not proved: crosshead low, cylinder 2.":  {Found: []upkeep.Found{{Named: wiper}}, Judged: []upkeep.Named{low}},
		"Closed 2026-10-25: nothing was proved. The crew found: a washed joint!":                              {Said: "a washed joint!"},
	} {
		c.Closed = "2026-10-25"
		assert.Equal(t, want, CloseOut(&c))
	}
	assert.Equal(t, "PTO worn", small("PTO worn"))
	assert.Empty(t, small(""))
}

func TestWhatStandsAgainstClosing(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	const proved = "confirmed: [rod-clamp-misfitted: 2]\n"
	const right = proved + "corrected: [rod-clamp-misfitted: 2]\nlooked-again: [rod-clamp-misfitted: 2]\n"
	for text, why := range map[string]string{
		"running}\n":          "",
		"running}\n" + right:  "",
		"running}\n" + proved: "proved and not corrected",
		"running}\n" + proved + "corrected: [rod-clamp-misfitted: 2]\n": "not looked at again",
		"isolated, open: [crosshead-cover-off: 2]}\n" + right:           "opened and not closed again: Take the crosshead cover off, cylinder 2",
		"isolated}\n" + right: "still isolated",
		"running}\n" + right + "locks: [{on: drive, by: A. Hand}]\n":                                                                                           "a lock still hangs: drive, A. Hand",
		"running}\n" + right + "locks: [{on: drive, by: A. Hand, off-by: A. Hand}]\n":                                                                          "",
		"running}\n" + right + "stays-open: [{what: bleed, by: A. Hand}]\n":                                                                                    "not shut again: bleed",
		"running}\nfindings: {rod-broken: {present: [3]}}\n":                                                                                                   "a stop condition holds: A rod is broken",
		"running}\nfindings: {wiper-leaks: {again: [2]}}\nconfirmed: [wiper-worn-out: 2]\ncorrected: [wiper-worn-out: 2]\nlooked-again: [wiper-worn-out: 2]\n": "nobody looked at what may have brought it on",
	} {
		t.Run(why, func(t *testing.T) {
			k, err := evidence.ParseCase("job.yaml", []byte("pump: {action: triplex-single-acting, state: "+text), book.Vocabulary())
			require.NoError(t, err, text)
			r, _ := engine.Diagnose(book.WithoutFirmness(), k)
			got := NotToClose(book, r, k)
			if why == "" {
				assert.Empty(t, got, text)
				return
			}
			require.NotEmpty(t, got, text)
			assert.Contains(t, got[0], why)
		})
	}
}
