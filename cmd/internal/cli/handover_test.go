package cli

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// handed are the demo cases that stand alone, and the open jobs of the demo rig and some
// closed ones of it.
func handed(t *testing.T) []string {
	t.Helper()
	cases, err := filepath.Glob(filepath.Join(root, "cases", "*.yaml"))
	require.NoError(t, err)
	jobs, err := filepath.Glob(filepath.Join(root, "rig", "jobs", "2026-10-*.yaml"))
	require.NoError(t, err)
	require.True(t, len(cases) > 10 && len(jobs) > 3, "%d cases, %d jobs", len(cases), len(jobs))
	return append(cases, jobs...)
}

// The hand-over of a demo case is at most 60 lines, and what hangs, stands open or stops
// the pump is on it, before what was done.
func TestAHandOverIsShort(t *testing.T) {
	t.Setenv("SOURCE_DATE_EPOCH", "1772356200")
	for _, file := range handed(t) {
		out, errOut, code := run(t, "hand-over", file)
		require.Zero(t, code, "%s: %s", file, errOut)
		assert.LessOrEqual(t, strings.Count(out, "\n"), 60, file)
		for _, name := range []string{"Handed over by", "Taken over by", "DONE\n", "WHAT COMES NEXT\n", "Tell: "} {
			assert.Contains(t, out, name, file)
		}
	}
	out, _, _ := run(t, "hand-over", filepath.Join(root, "rig", "jobs", "2026-10-26-pump-3-valve-right.yaml"))
	said := strings.Join(strings.Fields(out), " ")
	for _, lock := range []string{"drive: A. Moss's lock", "drive: J. Reed's lock", "discharge valve: A. Moss's lock, 05:50, tag 15", "suction drain, by J. Reed", "Opened: Open the valve pot, right cylinder, crank end"} {
		assert.Contains(t, said, lock)
		assert.Less(t, strings.Index(said, lock), strings.Index(said, "DONE"))
	}
	out, _, code := run(t, "hand-over", filepath.Join(root, "cases", "pit-gain.yaml"))
	require.Zero(t, code)
	assert.Less(t, strings.Index(out, "STOP FIRST"), strings.Index(out, "FOUND AND PROVED"))
	assert.Contains(t, out, "The pump waits.")
	assert.NotContains(t, out, "First check")
}

// It is one page on both papers, in the widest of its fonts. It needs chromium and
// pdftotext.
func TestAHandOverIsOnePage(t *testing.T) {
	if os.Getenv("TELLTALE_BROWSER") == "" {
		t.Skip("set TELLTALE_BROWSER=1 to print the hand-overs with chromium")
	}
	t.Setenv("SOURCE_DATE_EPOCH", "1772356200")
	for _, file := range handed(t) {
		page, errOut, code := run(t, "hand-over", "--html", file)
		require.Zero(t, code, errOut)
		page = oneFont.ReplaceAllString(page, "DejaVu Sans")
		for _, size := range papers {
			assert.Len(t, toPDF(t, strings.Replace(page, "@page {", "@page { size: "+size.name+";", 1)), 1, "%s on %s", file, size.name)
		}
	}
}
