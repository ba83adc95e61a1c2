package main

import (
	"context"
	_ "embed"
	"encoding/json"
	"net/url"
	"os"
	"os/exec"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"
)

// pageScript tells what a browser sees of a page.
//
//go:embed testdata/page.js
var pageScript string

// needsBrowser skips a test where nobody asked for a browser: it needs chromium and
// takes minutes.
func needsBrowser(t *testing.T, tools ...string) {
	t.Helper()
	if os.Getenv("TELLTALE_BROWSER") == "" {
		t.Skip("set TELLTALE_BROWSER=1 to look at the pages with chromium")
	}
	for _, tool := range append(tools, "chromium") {
		if _, err := exec.LookPath(tool); err != nil {
			t.Fatalf("%s is not installed, and TELLTALE_BROWSER asks for it", tool)
		}
	}
}

// axe is the script of axe-core, a checker of pages against WCAG; "" where it is not
// there. In CI it must be.
func axe(t *testing.T) string {
	t.Helper()
	path := os.Getenv("TELLTALE_AXE")
	if path == "" {
		require.Empty(t, os.Getenv("CI"), "TELLTALE_AXE does not name axe.min.js, and CI is set")
		t.Log("NOT CHECKED WITH AXE-CORE: set TELLTALE_AXE to its axe.min.js")
		return ""
	}
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	return string(text)
}

// chromium is one browser for a test and those within it.
func chromium(t *testing.T) context.Context {
	t.Helper()
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath("chromium"), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("force-color-profile", "srgb"), chromedp.WSURLReadTimeout(waitForPage))
	ctx, stop := chromedp.NewExecAllocator(t.Context(), options...)
	t.Cleanup(stop)
	ctx, end := chromedp.NewContext(ctx)
	t.Cleanup(end)
	require.NoError(t, chromedp.Do(ctx))
	return ctx
}

// window is a window of its own, with its own cookies.
type window struct {
	t    *testing.T
	ctx  context.Context
	door string // the address that lets in
	host string // the only one that may be asked
	keys bool   // no mouse: Tab, Space, Enter and letters
	runs bool   // scripts

	mu    sync.Mutex
	asked []string          // addresses
	bytes int64             // over the wire
	loads chan cdp.LoaderID // pages that came
}

// waitForPage bounds how long a page may take on a slow machine.
const waitForPage = time.Minute

// newWindow opens a window with or without scripts.
func newWindow(t *testing.T, browser context.Context, address string, scripts bool) *window {
	t.Helper()
	at, err := url.Parse(address)
	require.NoError(t, err)
	ctx, stop := chromedp.NewContext(browser, chromedp.WithNewBrowserContext())
	t.Cleanup(stop)
	w := &window{t: t, ctx: ctx, door: address, host: at.Host, loads: make(chan cdp.LoaderID, 100)}
	require.NoError(t, chromedp.Listen(ctx, func(event any) {
		w.mu.Lock()
		defer w.mu.Unlock()
		switch e := event.(type) {
		case *network.EventRequestWillBeSent:
			w.asked = append(w.asked, e.Request.URL)
		case *network.EventLoadingFinished:
			w.bytes += int64(e.EncodedDataLength)
		case *page.EventLifecycleEvent:
			if e.Name == "load" {
				w.loads <- e.LoaderID
			}
		}
	}))
	call(w, network.Enable, network.EnableParams{})
	call(w, page.SetLifecycleEventsEnabled, page.SetLifecycleEventsEnabledParams{Enabled: true})
	w.scripts(scripts)
	call(w, emulation.SetFocusEmulationEnabled, emulation.SetFocusEmulationEnabledParams{Enabled: true})
	w.size(sizes[1])
	t.Cleanup(func() {
		w.mu.Lock()
		defer w.mu.Unlock()
		for _, address := range w.asked {
			at, err := url.Parse(address)
			if err != nil || at.Scheme != "data" && at.Host != w.host {
				t.Errorf("a page asks for %s, which is not at this machine's address %s", address, w.host)
			}
		}
	})
	return w
}

// scripts lets the page run scripts, or not.
func (w *window) scripts(run bool) {
	w.t.Helper()
	w.runs = run
	call(w, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: !run})
}

func (w *window) do(steps ...chromedp.Action[chromedp.Void]) {
	w.t.Helper()
	require.NoError(w.t, chromedp.Do(w.ctx, steps...))
}

// call gives a command to the browser.
func call[P, R any](w *window, command cdp.Command[P, R], params P) R {
	w.t.Helper()
	r, err := chromedp.Call(w.ctx, command, params)
	require.NoError(w.t, err)
	return r
}

// eval gives what an expression comes to.
func eval[T any](w *window, expression string) T {
	w.t.Helper()
	ctx, stop := context.WithTimeout(w.ctx, waitForPage)
	defer stop()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	require.NoError(w.t, err)
	return v
}

// look asks the script of what is seen.
func look[T any](w *window, call string) T {
	w.t.Helper()
	return eval[T](w, strings.TrimSpace(pageScript)+"."+call)
}

// loading does what brings another page, and waits for it.
func (w *window) loading(do func()) {
	w.t.Helper()
	for len(w.loads) > 0 {
		<-w.loads
	}
	do()
	select {
	case <-w.loads:
	case <-time.After(waitForPage):
		a := w.asks()
		w.t.Fatalf("no page came in %s after %s: %s", waitForPage, a.Path, a.Asked)
	}
}

// open goes to an address.
func (w *window) open(address string) {
	w.t.Helper()
	w.loading(func() {
		r := call(w, page.Navigate, page.NavigateParams{URL: address})
		require.Empty(w.t, r.ErrorText, address)
	})
}

// path opens a page of the site.
func (w *window) path(path string) {
	w.t.Helper()
	w.open("http://" + w.host + path)
}

// size is how large a window is, in the pixels of its page, and how much larger they
// are on the screen.
type size struct {
	name          string
	width, height int64
	zoom          float64
}

// A telephone, a tablet, and a screen of 1280 by 1024 pixels at 200 %.
var sizes = []size{{"320 by 640", 320, 640, 1}, {"1024 by 768", 1024, 768, 1}, {"1280 by 1024 at 200 %", 640, 512, 2}}

func (w *window) size(s size) {
	w.t.Helper()
	call(w, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{Width: s.width, Height: s.height, DeviceScaleFactor: s.zoom})
}

// spaced sets text as WCAG 2.2, 1.4.12, wants it to be bearable; the function undoes it.
func (w *window) spaced() func() {
	w.t.Helper()
	eval[chromedp.Void](w, `{ const s = new CSSStyleSheet();
		s.replaceSync("* { line-height: 1.5 !important; letter-spacing: 0.12em !important; word-spacing: 0.16em !important; } p { margin-bottom: 2em !important; }");
		document.adoptedStyleSheets = [s]; }`)
	return func() { eval[chromedp.Void](w, `document.adoptedStyleSheets = []`) }
}

// asked is what a page puts to somebody, and by which values it can be answered.
type asked struct {
	Path, Prompt, Asked string
	Buttons, Ticks      []string
	Words               bool
}

func (w *window) asks() asked {
	w.t.Helper()
	return look[asked](w, "asked()")
}

// press presses what a selector names: by the mouse, or with Tab and Enter, or Space
// for what is ticked.
func (w *window) press(selector string) {
	w.t.Helper()
	if w.keys {
		w.goTo(selector)
		key := kb.Enter
		if strings.Contains(selector, "input") {
			key = " "
		}
		w.do(chromedp.KeyEvent(key))
		return
	}
	at := look[struct {
		There bool
		X, Y  float64
		By    string
	}](w, "place("+asJSON(selector)+")")
	require.True(w.t, at.There, "nothing on the page is %s", selector)
	require.Empty(w.t, at.By, "it lies over %s", selector)
	w.do(chromedp.MouseClickXY(at.X, at.Y))
}

// mostTabs is more than a page has stops before an answer.
const mostTabs = 200

// goTo goes on with Tab until the focus is on what a selector names.
func (w *window) goTo(selector string) {
	w.t.Helper()
	for range mostTabs {
		if eval[bool](w, "!!document.activeElement && document.activeElement.matches("+asJSON(selector)+")") {
			return
		}
		w.do(chromedp.KeyEvent(kb.Tab))
	}
	w.t.Fatalf("Tab does not come to %s within %d stops", selector, mostTabs)
}

// back goes one stop back.
func (w *window) back() {
	w.t.Helper()
	w.do(chromedp.KeyEvent(kb.Tab, chromedp.KeyModifiers(kb.ModifierShift)))
}

// types puts text into a field, letter by letter.
func (w *window) types(selector, text string) {
	w.t.Helper()
	if w.keys {
		w.goTo(selector)
	} else {
		w.press(selector)
	}
	w.do(chromedp.KeyEvent(text))
}

func asJSON(text string) string {
	out, err := json.Marshal(text)
	if err != nil {
		panic(err) // text is always JSON
	}
	return string(out)
}

// stop is where Tab stops.
type stop struct {
	At, Is, Value, Name string
	Faults              []string
}

func (w *window) focus() stop {
	w.t.Helper()
	return look[stop](w, "focus()")
}

var addressShown = regexp.MustCompile(`http://\S+`)

// serving starts the real program on a folder and gives its address.
func serving(t *testing.T, dir string) string {
	t.Helper()
	cmd := exec.Command(built(t), "serve", "--no-open", dir)
	cmd.Env = append(os.Environ(), "XDG_CACHE_HOME="+t.TempDir())
	shown, troubles := &screen{}, &screen{}
	cmd.Stdout, cmd.Stderr = shown, troubles
	require.NoError(t, cmd.Start())
	t.Cleanup(func() {
		require.NoError(t, cmd.Process.Signal(os.Interrupt))
		require.NoError(t, cmd.Wait(), troubles.text())
		require.Empty(t, troubles.text())
	})
	require.Eventually(t, func() bool { return addressShown.MatchString(shown.text()) }, waitForPage, 10*time.Millisecond, "%s%s", shown, troubles)
	return addressShown.FindString(shown.text())
}
