package site

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/rules"
)

// hostile are texts that somebody may have written anywhere.
var hostile = map[string]string{
	"a script":    `<script>alert(1)</script><img src=x onerror=alert(1)> &lt;b&gt; &#60;script&#62; javascript:alert(1)`,
	"the end":     `"></title></textarea></button></form><script src=//evil.example/x.js></script>`,
	"no letters":  "abc\u202edcba\u2066\u200f\u061c bell\u0007 escape\u001b[31m next\u0085 {{.}} {{template \"top\"}} ${x} <!-- --> <![CDATA[",
	"a long word": strings.Repeat("Pumpenwärter", 8),
}

// quoted writes a text as YAML.
func quoted(text string) string {
	return "'" + strings.ReplaceAll(strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x85 {
			return '?' // not in a file
		}
		return r
	}, text), "'", "''") + "'"
}

var smallBook = sync.OnceValues(func() (*rules.Book, error) {
	return rules.Load(os.DirFS("../../../testdata/smallbook"), "smallbook")
})

// smallSite is the pages over a folder with a small book, which answer faster.
func smallSite(t testing.TB, dir string) *Site {
	t.Helper()
	s := siteOver(t, dir)
	var err error
	s.book, err = smallBook()
	require.NoError(t, err)
	return s
}

// What somebody wrote into a case or a pump's file, or called a file, stays text on every
// page.
func TestHostileTextOnEveryPage(t *testing.T) {
	for name, text := range hostile {
		t.Run(name, func(t *testing.T) {
			file := strings.NewReplacer("/", "-", "\x00", "").Replace(text)
			file = file[:min(len(file), 100)]
			pump := "pump: {action: triplex-single-acting, name: " + quoted(text) + "}\ndated:\n  - {what: " + quoted(text) + ", until: 2026-10-01}\n"
			job := "job: {pump: pump-2, date: 2026-10-19, hours: 1000 h}\npump: {state: isolated}\nfindings: {wiper-leaks: {again: [2]}}\nlocks:\n  - {on: " + quoted(text) + ", by: " + quoted(text) + ", tag: " + quoted(text) + "}\nlog:\n  - {at: 2026-10-19T01:00:00Z, by: " + quoted(text) + ", did: " + quoted(text) + "}\n"
			files := map[string]string{"pumps/pump-2.yaml": pump, "jobs/case.yaml": job, "jobs/broken.yaml": "job: {pump: " + quoted(text) + "}\n"}
			dir := folderOf(t, files)
			hostileName := filepath.Join(dir, "jobs", file+".yaml")
			if err := os.WriteFile(hostileName, []byte(job), 0o600); err != nil {
				t.Log("no such name here: ", err)
			}
			s := smallSite(t, dir)
			for _, at := range []string{"/", "/job/case", "/job/case/all", "/job/case/sheet", "/job/case/hand-over", "/job/case/teardown", "/job/case/readings", "/job/broken", "/pump/pump-2", "/stop?hours=12", "/job/" + url.PathEscape(file), "/job/" + url.PathEscape(text), "/pump/" + url.PathEscape(text), "/rulebook/" + url.PathEscape(text), "/stop?hours=" + url.QueryEscape(text), "/practice/" + url.PathEscape(text)} {
				open(t, s, at)
			}
			b := open(t, s, "/job/case")
			at, sends := b.button("yes")
			sends.Set(fieldTurn, text)
			sends.Set(fieldAlone, text)
			b.post(at, sends)
			assert.Equal(t, http.StatusConflict, b.status)
			b.words(text)
			b.words("knock " + text)
			b = open(t, smallSite(t, folderOf(t, map[string]string{"one.yaml": "pump: {action: triplex-single-acting, state: running, name: " + quoted(text) + "}\n"})), "/").press("a new one")
			b.words(text)
			assert.Less(t, b.status, http.StatusInternalServerError)
		})
	}
}

// A file of bytes that are no text.
func TestNoText(t *testing.T) {
	dir := folderOf(t, map[string]string{"pumps/pump-2.yaml": "pump: {name: \xff\xfe, action: \x00}\n", "jobs/case.yaml": "\xff\xfe\x00<script>", "jobs/long.yaml": strings.Repeat("a", 1<<20)})
	s := siteOver(t, dir)
	for _, at := range []string{"/", "/job/case", "/job/long", "/pump/pump-2"} {
		open(t, s, at)
	}
}

func FuzzForm(f *testing.F) {
	f.Add("turn=1&prompt=x&rests=y&alone=yes")
	f.Add("chosen=at+1&chosen=at+2&chosen=at+1")
	f.Add("text=It+knocks%0D%0Aon+2%0A%0A.%0A%FF%00&prompt=told")
	f.Add("text=&alone=&chosen=")
	f.Fuzz(func(t *testing.T, body string) {
		form, err := url.ParseQuery(body)
		if err != nil {
			return
		}
		a := answerOf(form)
		assert.False(t, strings.ContainsAny(a.Clean().Text, "\r\n"), "%q", a.Text)
		assert.True(t, same(a, answerOf(form)))
		assert.False(t, a.Text != "" && a.Chosen != nil)
		k := &desk{name: "a.1", talk: overCase{}}
		err = k.take(form)
		require.Error(t, err, "nothing was asked")
		said, status := refusal(err)
		assert.NotEmpty(t, said)
		assert.Equal(t, http.StatusConflict, status)
	})
}

func FuzzAddress(f *testing.F) {
	for _, at := range []string{"/", "/job/case", "/job/..%2f..%2fetc%2fpasswd", "/job/%00", "/pump/%ff", "/rulebook/wiper-leaks", "/stop?hours=1e99", "/stop?hours=%F0", "/job/case/readings/clearance/1", "/job/case/readings-again/%2e/2", "/practice/x/review", "/new/x"} {
		f.Add(at)
	}
	handler := smallSite(f, folderOf(f, map[string]string{"pumps/pump-2.yaml": pumpTwo, "jobs/other.yaml": "pump: {}\n"})).Handler()
	f.Fuzz(func(t *testing.T, at string) {
		u, err := url.ParseRequestURI(at)
		if err != nil || u.Host != "" {
			return
		}
		r := httptest.NewRequest(http.MethodGet, "/", nil)
		r.URL = u
		w := httptest.NewRecorder()
		handler.ServeHTTP(w, r)
		assert.Less(t, w.Code, 500, at)
		if strings.HasPrefix(w.Header().Get("Content-Type"), "text/html; charset") && w.Code != http.StatusMovedPermanently && w.Code != http.StatusTemporaryRedirect {
			b := &window{t: t, to: handler}
			b.send(r, at)
		}
	})
}

func FuzzStory(f *testing.F) {
	f.Add("The wiper on 2 leaks again.")
	f.Add("knock\r\n<script>alert(1)</script>\u202e on 1 and 3, not on 2")
	f.Add(strings.Repeat("a", 5000))
	f.Add("\xff\x00 130 F at 2")
	f.Fuzz(func(t *testing.T, story string) {
		dir := folderOf(t, map[string]string{"case.yaml": "pump: {action: triplex-single-acting, state: running}\n"})
		b := open(t, smallSite(t, dir), "/job/case").press("yes, it still runs").words(story)
		assert.Less(t, b.status, 500)
		if b.status != http.StatusOK {
			assert.NotEmpty(t, b.refused())
		}
		b.get("/job/case/all")
		assert.Equal(t, http.StatusOK, b.status)
	})
}
