package main

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The rules of axe-core that stand for WCAG 2.2, levels A and AA.
const axeRules = `{runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22a", "wcag22aa"], resultTypes: ["violations"]}`

// byAxe gives what axe-core finds; nothing without its script.
func (w *window) byAxe(script string) (out []string) {
	w.t.Helper()
	if script == "" {
		return nil
	}
	defer w.scripts(w.runs)
	w.scripts(true)
	eval[chromedp.Void](w, script)
	for _, v := range eval[[]struct {
		ID, Help string
		Nodes    []struct{ HTML, FailureSummary string }
	}](w, "axe.run("+axeRules+").then((r) => r.violations)") {
		out = append(out, fmt.Sprintf("axe %s: %s: %d of them: %s: %s", v.ID, v.Help, len(v.Nodes), v.Nodes[0].HTML, v.Nodes[0].FailureSummary))
	}
	return out
}

// fits gives what does not fit at any size, as it is set and with the text spaced.
func (w *window) fits() (out []string) {
	w.t.Helper()
	for _, s := range sizes {
		w.size(s)
		for _, spaced := range []bool{false, true} {
			undo := func() {}
			name := s.name
			if spaced {
				undo, name = w.spaced(), name+", text spaced"
			}
			for _, f := range look[[]string](w, "fits()") {
				out = append(out, name+": "+f)
			}
			undo()
		}
	}
	return out
}

// colours gives what stands out too little.
func (w *window) colours() []string {
	w.t.Helper()
	return look[[]string](w, "colours()")
}

// mostStops is how far a long page is gone through with Tab, from the top and from its
// end.
const mostStops = 40

// tabbed goes through a page with Tab, and from its end back, and gives at which stop
// the focus is not seen and what is passed over.
func (w *window) tabbed(s size) (out []string) {
	w.t.Helper()
	w.size(s)
	stops := look[int](w, "stops()")
	for _, way := range []struct {
		name string
		step func()
	}{
		{"Tab", func() { w.do(chromedp.KeyEvent(kb.Tab)) }},
		{"Shift and Tab", w.back},
	} {
		before := map[string]bool{}
		for outside := 0; len(before) < mostStops && outside < 3; {
			way.step()
			at := w.focus()
			if at.At == "" {
				outside++ // behind the last it goes on before the first
				continue
			}
			if before[at.At] {
				break
			}
			before[at.At] = true
			for _, f := range at.Faults {
				out = append(out, fmt.Sprintf("%s, %s: %s", s.name, way.name, f))
			}
		}
		if len(before) < min(stops, mostStops) {
			out = append(out, fmt.Sprintf("%s, %s: %d stops of %d", s.name, way.name, len(before), stops))
		}
	}
	return out
}

// The checks themselves: each small page has one fault, and that alone is found.
func TestFaultsAreFoundInABrowser(t *testing.T) {
	needsBrowser(t)
	browser, script := chromium(t), axe(t)
	server := httptest.NewServer(http.HandlerFunc(func(rw http.ResponseWriter, r *http.Request) {
		rw.Header().Set("Content-Type", "text/html; charset=utf-8")
		rw.Header().Set("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'; img-src data:")
		fmt.Fprint(rw, `<!DOCTYPE html><html lang="en"><title>One fault</title><style>body { margin: 0 } p { margin: 20px 0 }
			button, input { display: block; box-sizing: border-box; font: inherit; min-height: 72px; width: 100%; padding: 0; border: 2px solid #111 }
			:focus-visible { outline: 4px solid #00337a; outline-offset: -6px }</style><main><h1>A page</h1>`+r.FormValue("body")+`</main>`)
	}))
	t.Cleanup(server.Close)
	good := `<p>Shut the valve.</p><section class="ask"><form><button>Done</button><button style="margin-top: 12px">Not done</button></form></section>`
	for name, c := range map[string]struct{ body, fault string }{
		"none":                    {good, ""},
		"too wide":                {`<div style="width: 700px">wide</div>`, "width: the page is 7"},
		"cut":                     {`<p style="width: 60px; overflow: hidden; white-space: nowrap">What was read at the gauge</p>`, "cut: p "},
		"cut below":               {`<p style="height: 10px; overflow: hidden">What was read</p>`, "cut: p "},
		"no key scrolls":          {`<div style="width: 60px; overflow: auto"><p style="width: 90px">What</p></div>`, "cut: no key scrolls div"},
		"a scroll box for keys":   {`<div tabindex="0" style="width: 60px; overflow: auto"><p style="width: 90px">What</p></div>`, ""},
		"low answer":              {`<section class="ask"><button style="min-height: 60px">Done</button></section>`, `target: button "Done" is 60 px high, not 72`},
		"answers too near":        {`<section class="ask"><button>Done</button><button style="margin-top: 5px">Not done</button></section>`, `target: button "Done" and button "Not done" are 5 px apart`},
		"low link":                {`<p><a href="#x">Home</a></p>`, `target: a "Home"`},
		"link in a sentence":      {`<p>Go <a href="#x">home</a>.</p>`, ""},
		"grey":                    {`<p style="color: #999">Shut the valve.</p>`, `contrast: p "Shut the valve." has 2.8:1, not 4.5:1`},
		"grey number":             {`<p style="color: #666">2800 psi</p>`, `contrast: p "2800 psi" has 5.7:1, not 7:1`},
		"see-through":             {`<p style="color: rgba(0, 0, 0, 0.3)">Shut.</p>`, `contrast: p "Shut."`},
		"faint border":            {`<label>A number <input style="border-color: #ccc"></label>`, `contrast: the border of input`},
		"focus not seen":          {`<button style="outline: none">Go</button>`, `focus: nothing shows that it is on button`},
		"focus faint":             {`<button style="outline: 3px solid #ddd">Go</button>`, `focus: its line round button`},
		"focus hidden":            {`<button>Go</button><div style="position: fixed; inset: 0; background: #fff"></div>`, `focus: button "Go" is hidden`},
		"passed over":             {`<button>Go</button><button inert>Stop</button>`, `Tab: 1 stops of 2`},
		"a picture without words": {`<img src="data:image/gif;base64,R0lGODlhAQABAAAAACw=" style="width: 9px">`, "axe image-alt"},
	} {
		t.Run(name, func(t *testing.T) {
			if strings.HasPrefix(c.fault, "axe") && script == "" {
				t.Skip("axe-core is not there")
			}
			w := newWindow(t, browser, server.URL, true)
			w.open(server.URL + "?body=" + url.QueryEscape(c.body))
			found := slices.Concat(w.fits(), w.colours(), w.tabbed(sizes[0]))
			if c.fault == "" || strings.HasPrefix(c.fault, "axe") {
				found = append(found, w.byAxe(script)...)
			}
			if c.fault == "" {
				assert.Empty(t, found)
				return
			}
			require.NotEmpty(t, found)
			for _, f := range found {
				assert.Contains(t, f, c.fault)
			}
		})
	}
}
