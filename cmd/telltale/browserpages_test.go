package main

import (
	"encoding/xml"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"unicode"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/rules"
)

// pageCheck is how each kind of page is looked at.
type pageCheck struct {
	script string // of axe-core
	seen   map[string]bool
}

// looks looks at the page that a window shows, once of its kind: nothing is wrong
// with it.
func (c *pageCheck) looks(w *window, kind string) {
	w.t.Helper()
	if c.seen[kind] {
		return
	}
	c.seen[kind] = true
	w.t.Run(kind, func(t *testing.T) {
		for _, f := range w.fits() {
			t.Error(f)
		}
		for _, s := range []size{sizes[0], sizes[2]} {
			for _, f := range w.tabbed(s) {
				t.Error(f)
			}
		}
		w.size(sizes[1])
		for _, f := range append(w.colours(), w.byAxe(c.script)...) {
			t.Error(f)
		}
		for _, p := range []chromedp.PaperSize{chromedp.PaperA4, chromedp.PaperLetter} {
			for _, f := range w.printed(p) {
				t.Error(f)
			}
		}
	})
}

// printed gives what is wrong with a page on paper: what is only to be pressed is on
// it, or a text is not, or runs over its edge.
func (w *window) printed(size chromedp.PaperSize) (out []string) {
	w.t.Helper()
	call(w, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
	paper := look[struct{ Texts, Pressed []string }](w, "paper()")
	call(w, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{})
	name := fmt.Sprintf("on paper of %.1f in: ", size.Width)
	for _, p := range paper.Pressed {
		out = append(out, name+"it has "+p)
	}
	pdf, err := chromedp.Run(w.ctx, chromedp.PrintToPDF(chromedp.PDFPaper(size)))
	require.NoError(w.t, err)
	words, over := onPaper(w.t, pdf)
	for _, word := range over {
		out = append(out, fmt.Sprintf("%s%q runs over the edge", name, word))
	}
	whole := strings.Join(words, "")
	for _, text := range paper.Texts {
		if strings.Contains(whole, strings.Join(strings.Fields(text), "")) {
			continue
		}
		for _, word := range strings.Fields(text) { // it goes on on the next page
			if !strings.Contains(whole, word) {
				out = append(out, fmt.Sprintf("%s%q of %q is not on it", name, word, text))
				break
			}
		}
	}
	return out
}

// onPaper gives the words of a printed page, and those of them that are not all within
// the paper.
func onPaper(t *testing.T, pdf []byte) (words, over []string) {
	t.Helper()
	cmd := exec.Command("pdftotext", "-bbox", "-", "-")
	cmd.Stdin = strings.NewReader(string(pdf))
	text, err := cmd.Output()
	require.NoError(t, err)
	var pages struct {
		Page []struct {
			Width float64 `xml:"width,attr"`
			Word  []struct {
				XMin float64 `xml:"xMin,attr"`
				XMax float64 `xml:"xMax,attr"`
				Text string  `xml:",chardata"`
			} `xml:"word"`
		} `xml:"body>doc>page"`
	}
	clean := strings.Map(func(r rune) rune {
		if unicode.IsControl(r) && r != '\n' {
			return -1
		}
		return r
	}, string(text))
	d := xml.NewDecoder(strings.NewReader(clean))
	d.Entity = xml.HTMLEntity
	require.NoError(t, d.Decode(&pages))
	for _, p := range pages.Page {
		for _, word := range p.Word {
			words = append(words, word.Text)
			if word.XMin < 0 || word.XMax > p.Width {
				over = append(over, word.Text)
			}
		}
	}
	return words, over
}

// kindOf is the kind of a page that asks: the first word of its prompt, of a step the
// first two.
func kindOf(a asked) string {
	words := strings.Fields(a.Prompt)
	switch {
	case len(words) == 0:
		return "over"
	case words[0] == "step":
		return words[0] + " " + words[1]
	}
	return words[0]
}

// copied copies a folder of the demos, to be written in.
func copied(t *testing.T, parts ...string) string {
	t.Helper()
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(dir, os.DirFS(filepath.Join(append([]string{repository, "testdata"}, parts...)...))))
	return dir
}

// Each kind of page can be read, pressed, gone through by keyboard and printed.
func TestPagesInABrowser(t *testing.T) {
	needsBrowser(t, "pdftotext")
	browser, script := chromium(t), axe(t)
	open := func(t *testing.T, dir string) (*window, *pageCheck) {
		address := serving(t, dir)
		w := newWindow(t, browser, address, true)
		w.open(address)
		return w, &pageCheck{script: script, seen: map[string]bool{}}
	}
	t.Run("talk", func(t *testing.T) {
		t.Parallel()
		j := wholeJobs["triplex"]
		w, c := open(t, rigOf(t, j))
		(&crew{wholeJob: j}).works(w, func(a asked) bool {
			kind := kindOf(a)
			if kind == "hours" && a.Words {
				w.types(".ask #text", "many")
				w.loading(func() { w.press(".ask .words button") })
				c.looks(w, "quantity refused")
				w.path(a.Path)
			}
			c.looks(w, kind)
			if kind != "lately" {
				return false
			}
			other := newWindow(t, browser, w.door, true) // somebody answers it in another window
			other.open(w.door)
			other.path(a.Path)
			other.loading(func() { other.press(`.ask button[value="no"]`) })
			w.loading(func() { w.press(`.ask button[value="yes"]`) })
			c.looks(w, "answer to what is not asked any more")
			w.path(a.Path)
			return true
		})
	})
	t.Run("folder", func(t *testing.T) {
		t.Parallel()
		dir := copied(t, "cases")
		mistakes, err := os.ReadFile(filepath.Join(repository, "testdata", "mistakes", "many.yaml"))
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(dir, "many.yaml"), mistakes, 0o644))
		w, c := open(t, dir)
		for _, path := range []string{
			"/", "/job/rod-measured", "/job/rod-measured/all", "/job/rod-measured/sheet", "/job/rod-measured/hand-over", "/job/rod-measured/teardown",
			"/job/rod-measured/rods", "/job/rod-measured/output", "/job/duplex-survey/rods", "/job/duplex-survey/sheet", "/job/guide-tilted/rods", "/job/pit-gain/all",
			"/job/many", "/job/nobody", "/job/pit-gain/nothing", "/nothing", "/stop?hours=long",
		} {
			w.path(path)
			c.looks(w, path)
		}
		w.path("/job/rod-measured/readings")
		c.looks(w, "readings")
		blocks := eval[[]string](w, `[...document.querySelectorAll("main > h2 + .places")].map((e) => e.querySelector("a").pathname)`) // each at its first place
		require.NotEmpty(t, blocks)
		for _, path := range blocks {
			w.path(path)
			c.looks(w, strings.TrimPrefix(path, "/job/rod-measured/"))
		}
		w.path("/job/pit-gain")
		for a := w.asks(); a.Prompt != "waiting"; a = w.asks() {
			c.looks(w, "flowing well, "+kindOf(a))
			press := "read"
			if kindOf(a) == "still" {
				press = "yes"
			}
			w.loading(func() { w.press(`.ask button[value="` + press + `"]`) })
		}
		c.looks(w, "flowing well, waiting")
	})
	t.Run("rig", func(t *testing.T) {
		t.Parallel()
		w, c := open(t, copied(t, "rig"))
		w.mu.Lock()
		assert.Greater(t, w.bytes, int64(10_000))
		assert.Less(t, w.bytes, int64(100_000), "the first page with its style and script, in bytes over the wire")
		w.mu.Unlock()
		for _, path := range []string{"/", "/pump/pump-1", "/pump/pump-3", "/stop?hours=12", "/pump/nobody"} {
			w.path(path)
			c.looks(w, path)
		}
	})
	t.Run("practice", func(t *testing.T) {
		t.Parallel()
		w, c := open(t, t.TempDir())
		for _, begun := range []struct{ field, text, kind string }{{"#seed", "7", "exercise"}, {"#questions", "1", "quiz"}} {
			w.path("/practice")
			c.looks(w, "practice")
			w.types(begun.field, begun.text)
			w.loading(func() { w.press("form:has(" + begun.field + ") button") })
			for range 4 {
				a := w.asks()
				c.looks(w, begun.kind+", "+kindOf(a))
				if len(a.Buttons) == 0 {
					break
				}
				w.loading(func() { w.press(".ask button[value=" + asJSON(a.Buttons[0]) + "]") })
			}
		}
		w.path("/practice/progress")
		c.looks(w, "progress")
	})
	t.Run("book", func(t *testing.T) {
		t.Parallel()
		book, err := rules.BuiltIn()
		require.NoError(t, err)
		w, c := open(t, t.TempDir())
		for _, path := range []string{
			"/", "/rulebook", "/rulebook/" + book.Causes.List[0].ID, "/rulebook/" + book.Signs.List[0].ID, "/rulebook/" + book.Checks.List[0].ID,
			"/rulebook/" + book.Openings.List[0].ID, "/rulebook/" + book.Safety.List[0].ID, "/rulebook/" + book.Stops.List[0].ID, "/rulebook/" + book.Ratings.List[0].ID,
			"/rulebook/" + book.Limits.List[0].ID, "/rulebook/" + book.Returns.List[0].ID, "/rulebook/" + book.Works.List[0].ID, "/rulebook/nobody",
		} {
			w.path(path)
			c.looks(w, path)
		}
	})
}
