package cli

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/mattn/go-runewidth"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/pages"
	"telltale/cmd/internal/words"
	"telltale/engine"
	"telltale/rules"
)

// What README says of the length of the short page.
const (
	oneScreen    = 23 // lines; a window of 24 has the prompt besides
	besidesStops = 14 // lines at most that stand besides the box of the stop conditions
)

// shortCases are the cases of the demo folders and of the demo rig, and some that
// these do not have.
func shortCases(t *testing.T) []string {
	t.Helper()
	var out []string
	for _, folder := range []string{"cases", "rig/jobs"} {
		require.NoError(t, filepath.WalkDir(filepath.Join(root, folder), func(path string, d fs.DirEntry, err error) error {
			if err == nil && filepath.Ext(path) == ".yaml" {
				out = append(out, path)
			}
			return err
		}))
	}
	require.Greater(t, len(out), 100)
	const seen = "findings: {oil-pressure-low: gone, cover-leaks: present, weep-hole-runs: present, knock: present, noise-loudest-at-crank: present, drive-shakes: present, smoke: crosshead, line-cracked: present, bearing-hot: present, metal-in-oil: present}\n"
	const wiper = "findings: {wiper-leaks: {again: [left], absent: [right]}, knock: present}\n"
	for name, text := range map[string]string{
		"stops, running":        "pump: {action: triplex-single-acting, state: running}\n" + seen,
		"stops, stopped":        "pump: {action: triplex-single-acting, state: stopped}\n" + seen,
		"stops, isolated":       "pump: {action: triplex-single-acting, state: isolated}\n" + seen,
		"a duplex":              "pump: {action: duplex-double-acting, state: running}\n" + wiper,
		"locks that hang":       "pump: {action: duplex-double-acting, state: running}\n" + wiper + "locks: [{on: drive, by: A. Hand, tag: 14}]\nstays-open: [{what: discharge bleed, by: A. Hand}]\n",
		"proved, not put right": "pump: {action: duplex-double-acting, state: stopped}\n" + wiper + "confirmed: [wiper-worn-out: left, gauge-faulty]\n",
		"does not fit":          "pump: {action: triplex-single-acting, state: stopped}\nfindings: {wiper-leaks: {again: [2]}}\nchecked: {wiper-look: {nothing: [2]}}\nconfirmed: [wiper-worn-out: 2]\n",
		"nothing seen":          "pump: {action: triplex-single-acting, state: running}\n",
		"no hope of a look":     "pump: {action: triplex-single-acting, state: isolated}\nfindings: {load-high: present}\nconfirmed: [pump-set-solid]\ncorrected: [pump-set-solid]\nlooked-again: [pump-set-solid]\n",
	} {
		path := filepath.Join(t.TempDir(), name+".yaml")
		require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
		out = append(out, path)
	}
	return out
}

// headings of the short page, in their order.
var shortHeadings = []string{"STOP FIRST", "HOW LONG CAN IT WAIT?", "DO NEXT", "WHAT FAILED, AND WHAT BROUGHT IT ON", "WORTH ASKING NOW", "WHERE THE REST IS: telltale triage --full CASE; on paper: telltale sheet CASE"}

// Every case has its short page on one screen: the stop conditions whole before
// all else, then how long it can wait, what is next, what failed, the best question
// and where the rest is. Only a box of stop conditions makes it longer.
func TestTheShortPageIsOneScreen(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	chance := regexp.MustCompile(`(\d+) %`)
	for _, file := range shortCases(t) {
		t.Run(filepath.Base(file), func(t *testing.T) {
			t.Parallel()
			k, err := readCase(streams{}, file, book)
			require.NoError(t, err)
			r, err := engine.Diagnose(book, k)
			require.NoError(t, err)
			var text strings.Builder
			require.NoError(t, pages.Glance(r, restOfTriage).Text(&text, 80))
			page := text.String()
			lines := strings.Split(strings.TrimSuffix(page, "\n"), "\n")
			box := stopBox(lines)
			if box == 0 {
				assert.LessOrEqual(t, len(lines), oneScreen)
			}
			assert.LessOrEqual(t, len(lines), max(oneScreen, box+besidesStops), "%d lines of stop conditions", box)
			for _, line := range lines {
				assert.LessOrEqual(t, runewidth.StringWidth(line), 80, line)
			}
			for _, n := range chance.FindAllStringSubmatch(page, -1) {
				percent, err := strconv.Atoi(n[1])
				assert.True(t, err == nil && percent%5 == 0, n[0])
			}
			assert.Equal(t, r.Pump.Name != "", strings.HasPrefix(page, r.Pump.Name+": "))
			stopsWhole(t, r, lines[:box+2])
			inOrder(t, r, lines, box)
		})
	}
}

// stopBox is how many lines the box of the stop conditions has, with its head and
// foot; 0 if there is none.
func stopBox(lines []string) int {
	for i, line := range lines {
		if i > 1 && strings.Trim(line, "=") == "" && line != "" {
			return i
		}
	}
	return 0
}

// stopsWhole checks that the lines of the box say every stop condition with all
// that is to be done.
func stopsWhole(t *testing.T, r *engine.Report, box []string) {
	t.Helper()
	said := oneLine(strings.Join(box, "\n"))
	for _, stop := range r.Stop {
		assert.Contains(t, said, oneLine(pages.StopHead(stop)))
		for _, do := range stop.Do {
			assert.Contains(t, said, "- "+oneLine(do))
		}
	}
}

// inOrder checks that what there is to say stands on the page, in order.
func inOrder(t *testing.T, r *engine.Report, lines []string, box int) {
	t.Helper()
	there := []bool{len(r.Stop) > 0, r.Haste != nil, true, len(r.Troubles) > 0, len(r.Ask) > 0, true}
	at := 0
	for i, heading := range shortHeadings {
		n := -1
		for j, line := range lines {
			if strings.HasPrefix(line, heading) {
				n = j
			}
		}
		if heading == "WORTH ASKING NOW" && box > 0 && n < 0 {
			continue // the box left it no room
		}
		if assert.Equal(t, there[i], n >= 0, heading) && n >= 0 {
			assert.Greater(t, n, at, heading)
			at = n
		}
	}
	page := oneLine(strings.Join(lines, "\n"))
	if r.Haste != nil {
		assert.Contains(t, page, "HOW LONG CAN IT WAIT? "+r.Haste.Says)
	}
	for _, trouble := range r.Troubles[:min(len(r.Troubles), 1)] {
		assert.Contains(t, page, trouble.Failed[0].Title)
		assert.True(t, box > 0 || strings.Contains(page, "None of the rulebook's causes: "))
	}
	if check := pages.FirstCheck(r); check != "" {
		title, _, _ := strings.Cut(check, " (")
		assert.Contains(t, page, title)
	}
	assert.Contains(t, page, "local rules and licensed practice govern.")
	for list, said := range map[string][]string{"notes": r.Notes, "not explained by what is proved": words.Unexplained(r), "does not fit together": doc.Each(r.Contradictions, words.Contradiction)} {
		if strings.Contains(page, fmt.Sprintf("%s (%d)", list, len(said))) {
			continue
		}
		for _, line := range said {
			assert.Contains(t, page, "- "+oneLine(line), "neither told nor counted")
		}
	}
}
