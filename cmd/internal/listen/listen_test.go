package listen

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/netip"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// home is the usual address of a machine for itself.
var home = netip.MustParseAddr("127.0.0.1")

// window is where a server says what went wrong.
type window struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (w *window) Write(b []byte) (int, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.text.Write(b)
}

func (w *window) String() string {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.text.String()
}

// served is a server on a port of its own that is ended with the test.
type served struct {
	*Server
	window *window
	end    func() error
}

func serve(t *testing.T, pages http.HandlerFunc, change ...func(*bounds)) *served {
	t.Helper()
	w := &window{}
	s, err := Open(home, 0, w)
	require.NoError(t, err)
	for _, c := range change {
		c(&s.bounds)
	}
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- s.Serve(ctx, pages) }()
	end := sync.OnceValue(func() error { stop(); return <-ended })
	t.Cleanup(func() { _ = end() })
	return &served{s, w, end}
}

// here is a page that says which way it was reached, and what was sent to it.
func here(w http.ResponseWriter, r *http.Request) {
	sent, err := io.ReadAll(r.Body)
	if err != nil {
		panic(err)
	}
	w.Header().Set("Content-Type", "text/plain")
	fmt.Fprintf(w, "%s %s [%s] nonce %s", r.Method, r.URL, sent, Nonce(r))
}

// stranger is a browser without any cookie, which follows nothing.
func stranger(t *testing.T) *http.Client {
	transport := &http.Transport{}
	t.Cleanup(transport.CloseIdleConnections)
	return &http.Client{Transport: transport, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
}

// visitor is a browser that was let in.
func (s *served) visitor(t *testing.T) *http.Client {
	t.Helper()
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	transport := &http.Transport{}
	t.Cleanup(transport.CloseIdleConnections)
	c := &http.Client{Transport: transport, Jar: jar}
	answer, err := c.Get(s.Opening())
	require.NoError(t, err)
	answer.Body.Close()
	require.Equal(t, http.StatusOK, answer.StatusCode)
	require.Equal(t, s.url("/"), answer.Request.URL.String(), "the secret stays in no address")
	return c
}

func (s *served) url(path string) string { return "http://" + s.at.String() + path }

// ask sends one request and gives the answer with its text.
func ask(t *testing.T, c *http.Client, method, address, body string, change ...func(*http.Request)) (*http.Response, string) {
	t.Helper()
	r, err := http.NewRequest(method, address, strings.NewReader(body))
	require.NoError(t, err)
	for _, change := range change {
		change(r)
	}
	answer, err := c.Do(r)
	require.NoError(t, err)
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	require.NoError(t, err)
	return answer, string(text)
}

func header(key, value string) func(*http.Request) {
	return func(r *http.Request) { r.Header.Set(key, value) }
}

func cookie(name, value string) func(*http.Request) {
	return func(r *http.Request) { r.AddCookie(&http.Cookie{Name: name, Value: value}) }
}

func host(name string) func(*http.Request) { return func(r *http.Request) { r.Host = name } }

// Only who has the secret of this start gets in, with a cookie that no script reads and
// no other site sends, and then without the secret in the address.
func TestWhoHasTheSecretGetsIn(t *testing.T) {
	s := serve(t, here)
	for name, address := range map[string]string{"as printed": s.Address(), "as a browser is opened": s.Opening()} {
		t.Run(name, func(t *testing.T) {
			answer, _ := ask(t, stranger(t), http.MethodGet, address, "")
			assert.Equal(t, http.StatusSeeOther, answer.StatusCode)
			assert.Equal(t, "/", answer.Header.Get("location"))
			assert.Equal(t, "no-store", answer.Header.Get("Cache-Control"))
			assert.Equal(t, "no-referrer", answer.Header.Get("Referrer-Policy"))
			require.Len(t, answer.Cookies(), 1)
			c := answer.Cookies()[0]
			assert.Equal(t, fmt.Sprintf("telltale-%d", s.Port()), c.Name)
			assert.True(t, c.HttpOnly)
			assert.Equal(t, http.SameSiteStrictMode, c.SameSite)
			assert.Equal(t, "/", c.Path)
			assert.Empty(t, c.Domain)
			assert.Zero(t, c.MaxAge)
			assert.True(t, c.Expires.IsZero())
			assert.NotContains(t, c.Value, string(s.secret))
			answer, text := ask(t, stranger(t), http.MethodGet, s.url("/"), "", cookie(c.Name, c.Value))
			assert.Equal(t, http.StatusOK, answer.StatusCode)
			assert.Contains(t, text, "GET /")
		})
	}
	with := func(path, query string) string {
		return s.url(path + "?" + query + secretName + "=" + string(s.secret))
	}
	for address, to := range map[string]string{
		with("/jobs/a%20b", "on=2026-03-04&"):   "/jobs/a%20b?on=2026-03-04",
		with("//elsewhere.example/x", ""):       "/elsewhere.example/x",
		with(`/\elsewhere.example`, ""):         "/%5Celsewhere.example",
		with("///%2F/elsewhere.example", "a=&"): "/elsewhere.example?a=",
	} {
		answer, _ := ask(t, stranger(t), http.MethodGet, address, "")
		assert.Equal(t, http.StatusSeeOther, answer.StatusCode, address)
		assert.Equal(t, to, answer.Header.Get("location"), "goes on at the same path, never to another machine")
	}
	text := ""
	for _, address := range []string{"/jobs?on=today", "/?" + secretName + "=wrong&a=b"} {
		_, text = ask(t, s.visitor(t), http.MethodGet, s.url(address), "")
		assert.NotContains(t, text, "wrong", "a browser that was let in gets on with an old address too, without the secret")
	}
	assert.Contains(t, text, "GET /?a=b")
}

// Nobody else gets in: each is told what to do, and the pages are not asked.
func TestNobodyElseGetsIn(t *testing.T) {
	s := serve(t, func(w http.ResponseWriter, r *http.Request) { t.Errorf("%s %s came in", r.Method, r.URL) })
	other := serve(t, here) // another start
	sealed, name := s.secret.cookie(), s.cookieName()
	old := s.secret.opening(time.Now().Add(-openingLasts - 2*time.Second))
	later := s.secret.opening(time.Now().Add(openingLasts + 5*time.Second))
	opening := s.secret.opening(time.Now())
	in := cookie(name, sealed)
	query := func(word string) string { return "/?" + url.Values{secretName: {word}}.Encode() }
	for what, c := range map[string]struct {
		method, path string
		status       int
		change       []func(*http.Request)
	}{
		"no secret":                      {"GET", "/", 403, nil},
		"a wrong secret":                 {"GET", query("AAAAAAAAAAAAAAAAAAAAAAAAAA"), 403, nil},
		"an empty secret":                {"GET", query(""), 403, nil},
		"the beginning of the secret":    {"GET", query(string(s.secret[:20])), 403, nil},
		"the secret and more":            {"GET", query(string(s.secret) + "A"), 403, nil},
		"the secret of another start":    {"GET", query(string(other.secret)), 403, nil},
		"an opening that is too old":     {"GET", query(old), 403, nil},
		"an opening of later":            {"GET", query(later), 403, nil},
		"an opening with another time":   {"GET", query("z" + opening), 403, nil},
		"an opening without its seal":    {"GET", query(strings.SplitAfter(opening, ".")[0]), 403, nil},
		"the cookie in the address":      {"GET", query(sealed), 403, nil},
		"a cookie of another start":      {"GET", "/", 403, []func(*http.Request){cookie(name, other.secret.cookie())}},
		"that of another start by name":  {"GET", "/", 403, []func(*http.Request){cookie(other.cookieName(), other.secret.cookie())}},
		"the right cookie, another name": {"GET", "/", 403, []func(*http.Request){cookie("telltale", sealed)}},
		"the secret as a cookie":         {"GET", "/", 403, []func(*http.Request){cookie(name, string(s.secret))}},
		"an empty cookie":                {"GET", "/", 403, []func(*http.Request){cookie(name, "")}},
		"a post with the secret":         {"POST", query(string(s.secret)), 403, nil},
		"another name for the machine":   {"GET", "/", 421, []func(*http.Request){in, host(fmt.Sprintf("attacker.example:%d", s.Port()))}},
		"another name, with the secret":  {"GET", query(string(s.secret)), 421, []func(*http.Request){host(fmt.Sprintf("127.0.0.1.attacker.example:%d", s.Port()))}},
		"another port":                   {"GET", "/", 421, []func(*http.Request){in, host("127.0.0.1:1")}},
		"no port":                        {"GET", "/", 421, []func(*http.Request){in, host("127.0.0.1")}},
		"another address of the machine": {"GET", "/", 421, []func(*http.Request){in, host(fmt.Sprintf("127.0.0.2:%d", s.Port()))}},
		"a post from another site":       {"POST", "/", 403, []func(*http.Request){in, header("Sec-Fetch-Site", "cross-site")}},
		"a post from the same site":      {"POST", "/", 403, []func(*http.Request){in, header("Sec-Fetch-Site", "same-site")}},
		"a post of another origin":       {"POST", "/", 403, []func(*http.Request){in, header("Origin", "https://attacker.example")}},
		"a post of no origin":            {"POST", "/", 403, []func(*http.Request){in, header("Origin", "null")}},
		"a post of another port":         {"POST", "/", 403, []func(*http.Request){in, header("Origin", "http://"+other.at.String())}},
		"a put":                          {"PUT", "/", 405, []func(*http.Request){in}},
		"a delete":                       {"DELETE", "/", 405, []func(*http.Request){in}},
		"a question what is allowed":     {"OPTIONS", "/", 405, []func(*http.Request){in, header("Origin", "https://attacker.example")}},
		"a trace":                        {"TRACE", "/", 405, []func(*http.Request){in}},
		"a method of its own":            {"BREW", "/", 405, []func(*http.Request){in}},
	} {
		t.Run(what, func(t *testing.T) {
			answer, text := ask(t, stranger(t), c.method, s.url(c.path), "", c.change...)
			assert.Equal(t, c.status, answer.StatusCode)
			assert.Empty(t, answer.Cookies())
			assert.Contains(t, text, "<h1>")
			assert.NotContains(t, text, string(s.secret))
			assert.Less(t, len(text), 1000)
			assert.Contains(t, answer.Header.Get("Content-Security-Policy"), "default-src 'none'")
			assert.Equal(t, "no-store", answer.Header.Get("Cache-Control"))
			if c.status == http.StatusForbidden {
				assert.Contains(t, text, "Open the address that telltale printed")
			}
		})
	}
	conn := s.dial(t)
	_, err := fmt.Fprintf(conn, "OPTIONS * HTTP/1.1\r\nHost: %s\r\n\r\n", s.at)
	require.NoError(t, err)
	line, err := bufio.NewReader(conn).ReadString('\n')
	require.NoError(t, err)
	assert.Contains(t, line, "405", "the library does not answer by itself")
	assert.Empty(t, s.window.String())
}

// What comes from a page of the server itself goes through, as a browser sends it and
// as one does that does not say where a form comes from.
func TestWhatItsOwnPagesSendGoesThrough(t *testing.T) {
	s := serve(t, here)
	in := s.visitor(t)
	for what, c := range map[string]struct {
		method string
		change []func(*http.Request)
	}{
		"a page":                   {"GET", nil},
		"its head":                 {"HEAD", nil},
		"a page from elsewhere":    {"GET", []func(*http.Request){header("Sec-Fetch-Site", "none")}},
		"a form":                   {"POST", []func(*http.Request){header("Sec-Fetch-Site", "same-origin")}},
		"a form, by its origin":    {"POST", []func(*http.Request){header("Origin", s.url(""))}},
		"a form of an old browser": {"POST", nil},
		"as localhost":             {"POST", []func(*http.Request){cookie(s.cookieName(), s.secret.cookie()), host(fmt.Sprintf("LocalHost:%d", s.Port())), header("Origin", fmt.Sprintf("http://LocalHost:%d", s.Port()))}},
	} {
		t.Run(what, func(t *testing.T) {
			answer, text := ask(t, in, c.method, s.url("/jobs"), "a=b", c.change...)
			assert.Equal(t, http.StatusOK, answer.StatusCode)
			if c.method != "HEAD" {
				assert.Contains(t, text, c.method+" /jobs [a=b]")
			}
		})
	}
}

// A page may load nothing from elsewhere and run nothing of its own text; its nonce is
// new with each response. What a page says of its own copy counts, what protects it
// stays.
func TestWhatAPageMayDo(t *testing.T) {
	s := serve(t, func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "/style.css" {
			w.Header().Set("Cache-Control", "private, max-age=31536000, immutable")
			w.Header().Set("Content-Security-Policy", "default-src *")
		}
		here(w, r)
	})
	in, seen := s.visitor(t), map[string]bool{}
	for range 3 {
		answer, text := ask(t, in, http.MethodGet, s.url("/"), "")
		_, nonce, _ := strings.Cut(text, "nonce ")
		assert.GreaterOrEqual(t, len(nonce), 22)
		assert.False(t, seen[nonce])
		seen[nonce] = true
		assert.Equal(t, fmt.Sprintf(policy, nonce), answer.Header.Get("Content-Security-Policy"))
		assert.Equal(t, "nosniff", answer.Header.Get("X-Content-Type-Options"))
		assert.Equal(t, "same-origin", answer.Header.Get("Cross-Origin-Opener-Policy"))
		assert.Equal(t, "same-origin", answer.Header.Get("Cross-Origin-Resource-Policy"))
		assert.Equal(t, "same-origin", answer.Header.Get("Referrer-Policy"))
		assert.Equal(t, "no-store", answer.Header.Get("Cache-Control"))
	}
	answer, _ := ask(t, in, http.MethodGet, s.url("/style.css"), "")
	assert.Contains(t, answer.Header.Get("Cache-Control"), "max-age")
	assert.Contains(t, answer.Header.Get("Content-Security-Policy"), "default-src 'none'")
}

// A panic ends one answer: half a page is not sent, and the next request is answered.
// What it says on the terminal moves nothing there.
func TestAPanicEndsOneAnswer(t *testing.T) {
	s := serve(t, func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "/bad" {
			w.Header().Set("X-Half", "yes")
			fmt.Fprint(w, "half a page")
			panic("read \x1b[2J\u202e" + r.URL.Query().Get("case"))
		}
		here(w, r)
	})
	in := s.visitor(t)
	answer, text := ask(t, in, http.MethodPost, s.url("/bad?case=%1B%5D0%3Btitle%07%0Atelltale:+all+is+well"), "a=b")
	assert.Equal(t, http.StatusInternalServerError, answer.StatusCode)
	assert.Contains(t, text, "Something went wrong in the program")
	assert.NotContains(t, text, "half a page")
	assert.Empty(t, answer.Header.Get("X-Half"))
	said := s.window.String()
	assert.Contains(t, said, "listen_test.go", "the stack")
	assert.NotContains(t, said, "\x1b")
	assert.NotContains(t, said, "\u202e")
	assert.NotContains(t, said, "\ntelltale: all is well")
	answer, _ = ask(t, in, http.MethodGet, s.url("/"), "")
	assert.Equal(t, http.StatusOK, answer.StatusCode)
}

// Addresses of other machines, and of all at once, are not listened on.
func TestOnlyTheMachineItself(t *testing.T) {
	for address, good := range map[string]bool{
		"127.0.0.1": true, "::1": true, "localhost": true, "127.0.0.2": true,
		"0.0.0.0": false, "::": false, "": false, "192.168.1.7": false, "::ffff:127.0.0.1": false, "fe80::1%lo": false, "::1%lo": false, "rig.example": false, "127.0.0.1:80": false,
	} {
		_, err := Loopback(address)
		assert.Equal(t, good, err == nil, "%q: %v", address, err)
	}
	s, err := Open(netip.MustParseAddr("::1"), 0, &window{})
	if err != nil {
		t.Skip("no ::1 here:", err)
	}
	defer s.Close()
	assert.True(t, strings.HasPrefix(s.Address(), "http://[::1]:"))
}
