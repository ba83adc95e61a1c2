package main

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A rod is drawn as its readings are typed, without a letter in the file, and with no
// script by a button; then it is written down.
func TestReadingsAreTypedInABrowser(t *testing.T) {
	needsBrowser(t)
	dir := t.TempDir()
	file := filepath.Join(dir, "two.yaml")
	const before = "# Of the invented rig Larkspur.\npump:\n  action: triplex-single-acting\n  state: isolated\n"
	require.NoError(t, os.WriteFile(file, []byte(before), 0o666))
	address, browser := serving(t, dir), chromium(t)
	has := func() string {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		return string(text)
	}
	field := func(key string) string { return `[name="f.` + key + `"]` }
	for _, scripts := range []bool{true, false} {
		w := newWindow(t, browser, address, scripts)
		byAxe := func() []string { return nil } // it waits for timers, which run only with scripts
		if scripts {
			byAxe = func() []string { return w.byAxe(axe(t)) }
		}
		w.open(address)
		w.path("/job/two/readings")
		assert.Empty(t, slices.Concat(w.fits(), w.colours(), byAxe()))
		w.path("/job/two/readings/rod-in-opening/3")
		drawn := func() string { return eval[string](w, `document.querySelector("#drawn svg").textContent`) }
		assert.Contains(t, drawn(), "top not read")
		w.types(field("resolution"), "1")
		w.types(field("middle.top"), "142")
		w.types(field("middle.bottom"), "117")
		if scripts {
			require.Eventually(t, func() bool { return strings.Contains(drawn(), "bottom 117.0") }, waitForPage, waitForPage/600)
			assert.Contains(t, drawn(), "rod 12.5 low")
			w.types(field("middle.left"), "x")
			require.Eventually(t, func() bool {
				return strings.Contains(eval[string](w, `document.querySelector("#drawn").textContent`), `"x" is not a quantity`)
			}, waitForPage, waitForPage/600)
			assert.Contains(t, drawn(), "rod 12.5 low", "what is right stays drawn")
		} else {
			w.loading(func() { w.press(`button[value=draw]`) })
			assert.Contains(t, drawn(), "rod 12.5 low")
		}
		assert.Equal(t, before, has())
		w.loading(func() { w.press(`button[value=write]`) })
		if scripts {
			assert.Contains(t, eval[string](w, `document.querySelector("#f-middle-left-wrong").textContent`), `"x" is not a quantity`)
			assert.Equal(t, before, has())
			w.types(field("middle.left"), "\b")
			w.loading(func() { w.press(`button[value=write]`) })
		}
		assert.Contains(t, eval[string](w, `document.querySelector("main").textContent`), "Written down.")
		assert.Contains(t, has(), "bottom: 117 thou")
		assert.Empty(t, slices.Concat(w.fits(), w.colours(), w.tabbed(sizes[0]), byAxe()))
		require.NoError(t, os.WriteFile(file, []byte(before), 0o666))
	}
}
