package listen

import (
	"bytes"
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"html"
	"io"
	"log"
	"net/http"
	"net/url"
	"os"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
	"time"
)

// guard stands before every request and lets only those through that come from the
// pages of this server, in the browser that has its secret.
type guard struct {
	door   Door
	cross  *http.CrossOriginProtection
	body   int64         // most bytes that are sent with a request
	slots  chan struct{} // one for each answer that may be under way
	inside http.Handler
	log    *log.Logger
}

// policy is what a page may do; its nonce stands in it.
const policy = "default-src 'none'; style-src 'self' 'nonce-%s'; script-src 'self'; img-src 'self' data:; form-action 'self'; frame-ancestors 'none'; base-uri 'none'; connect-src 'self'"

func (g *guard) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	nonce := rand.Text()
	protect := func() {
		h := w.Header()
		h.Set("Content-Security-Policy", fmt.Sprintf(policy, nonce))
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
	}
	protect()
	w.Header().Set("Cache-Control", "no-store")
	w.Header().Set("Referrer-Policy", "no-referrer")
	if !g.knows(r) { // who was not let in keeps no place: the rest of the body is not waited for
		w.Header().Set("Connection", "close")
		_ = http.NewResponseController(w).SetReadDeadline(time.Now())
	}
	switch {
	case !slices.Contains(g.door.hosts(), strings.ToLower(r.Host)):
		refuse(w, http.StatusMisdirectedRequest, "This is another address", "Open the address that telltale printed when it was started, as it stands there, with 127.0.0.1 or localhost and the same port.")
		return
	case r.Method != http.MethodGet && r.Method != http.MethodHead && r.Method != http.MethodPost:
		w.Header().Set("Allow", "GET, HEAD, POST")
		refuse(w, http.StatusMethodNotAllowed, "This cannot be done here", "Go back, and load the page again.")
		return
	case g.lets(w, r):
		return
	case !g.knows(r):
		refuse(w, http.StatusForbidden, "This browser was not let in", "Open the address that telltale printed when it was started, all of it, with the secret at its end. Each start has a new one. If you have just done that, go to the first page. If telltale was closed, start it again.")
		return
	case g.cross.Check(r) != nil:
		refuse(w, http.StatusForbidden, "This came from another page", "Nothing was written. Only pages of telltale itself may send something here. Open the address that telltale printed when it was started.")
		return
	}
	if !g.read(w, r) {
		return
	}
	select {
	case g.slots <- struct{}{}:
		defer func() { <-g.slots }()
	default:
		w.Header().Set("Retry-After", "1")
		refuse(w, http.StatusServiceUnavailable, "Too much at once", "Nothing was written. Wait a moment, and load the page again.")
		return
	}
	// A page that is sent from here must name itself, or a browser would not say on a
	// form where it comes from. No other page gets its address.
	w.Header().Set("Referrer-Policy", "same-origin")
	page := &page{header: w.Header().Clone()}
	if !g.answers(page, r.WithContext(context.WithValue(r.Context(), nonceKey{}, nonce))) {
		refuse(w, http.StatusInternalServerError, "Something went wrong in the program", "Nothing was lost: what was answered before is in the file. Go back, and load the page again. The program goes on; what went wrong stands in its window.")
		return
	}
	clear(w.Header())
	for key, values := range page.header {
		w.Header()[key] = values
	}
	protect()
	if page.text.Len() > 0 {
		w.Header().Set("Content-Length", strconv.Itoa(page.text.Len()))
	}
	if page.status != 0 {
		w.WriteHeader(page.status)
	}
	_, _ = w.Write(page.text.Bytes()) // who does not wait for it does not want it
}

// lets lets a browser in that has the secret in the address: it gets the cookie, and
// goes on to the same address without the secret.
func (g *guard) lets(w http.ResponseWriter, r *http.Request) bool {
	asked := r.URL.Query()
	if r.Method == http.MethodPost || !asked.Has(secretName) {
		return false
	}
	if !g.door.secret.opens(asked.Get(secretName), time.Now()) && !g.knows(r) {
		return false
	}
	asked.Del(secretName)
	http.SetCookie(w, &http.Cookie{Name: g.door.cookieName(), Value: g.door.secret.cookie(), Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode})
	to := url.URL{Path: "/" + strings.TrimLeft(r.URL.Path, "/"), RawQuery: asked.Encode()}
	http.Redirect(w, r, to.String(), http.StatusSeeOther)
	return true
}

// knows says whether a browser was let in.
func (g *guard) knows(r *http.Request) bool {
	return slices.ContainsFunc(r.CookiesNamed(g.door.cookieName()), func(c *http.Cookie) bool {
		return same(c.Value, g.door.secret.cookie())
	})
}

// read takes in all that a request sends, so that nothing is done by half of it.
func (g *guard) read(w http.ResponseWriter, r *http.Request) bool {
	sent, err := io.ReadAll(http.MaxBytesReader(w, r.Body, g.body))
	var tooLarge *http.MaxBytesError
	switch {
	case errors.As(err, &tooLarge):
		refuse(w, http.StatusRequestEntityTooLarge, "That is too long", fmt.Sprintf("Nothing was written. At most %d kB are taken at once. Go back, and say it shorter.", g.body/1000))
	case errors.Is(err, os.ErrDeadlineExceeded):
		w.Header().Set("Connection", "close")
		refuse(w, http.StatusRequestTimeout, "That took too long", "Nothing was written. Go back, and send it again.")
	case err != nil:
		w.Header().Set("Connection", "close")
		refuse(w, http.StatusBadRequest, "That was not all", "Nothing was written. Go back, and send it again.")
	}
	r.Body = io.NopCloser(bytes.NewReader(sent))
	return err == nil
}

// answers has the page made. A panic ends this answer and nothing else.
func (g *guard) answers(p *page, r *http.Request) (whole bool) {
	defer func() {
		if broken := recover(); broken != nil {
			g.log.Printf("something went wrong at %q: %q\n%s", r.URL.Path, fmt.Sprint(broken), debug.Stack())
			whole = false
		}
	}()
	g.inside.ServeHTTP(p, r)
	return true
}

// page is kept until it is whole: half of one is never sent.
type page struct {
	header http.Header
	status int
	text   bytes.Buffer
}

// Header is as of http.ResponseWriter, and so are the others.
func (p *page) Header() http.Header { return p.header }

func (p *page) WriteHeader(status int) {
	if p.status == 0 {
		p.status = status
	}
}

func (p *page) Write(b []byte) (int, error) {
	p.WriteHeader(http.StatusOK)
	return p.text.Write(b)
}

// nonceKey is where the nonce of a response stands in the context of its request.
type nonceKey struct{}

// Nonce is what a style in the page that answers this request must bear.
func Nonce(r *http.Request) string {
	nonce, _ := r.Context().Value(nonceKey{}).(string)
	return nonce
}

// refuse answers with a short page in plain words. The link asks once more from a page
// of this server: a browser that was sent here by a page of another one keeps the
// cookie back until then.
func refuse(w http.ResponseWriter, status int, title, text string) {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	fmt.Fprintf(w, `<!DOCTYPE html>
<html lang="en">
<head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1"><title>%s</title></head>
<body>
<h1>%[1]s</h1>
<p>%s</p>
<p><a href="/">To the first page</a></p>
</body>
</html>
`, html.EscapeString(title), html.EscapeString(text))
}
