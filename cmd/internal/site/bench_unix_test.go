//go:build unix

package site

import (
	"html"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"syscall"
	"testing"
	"time"

	"telltale/rules"
)

// A form's fields and the first answer of a page.
var (
	benchHidden = regexp.MustCompile(`<input type="hidden" name="(turn|prompt|rests)" value="([^"]*)">`)
	benchAnswer = regexp.MustCompile(`<button type="submit" name="(alone|chosen)" value="([^"]+)">`)
)

// benchAnswers is how many answers are given to a case before it is begun anew.
const benchAnswers = 12

// cpu is the processor time of this process so far, user and system.
func cpu(b *testing.B) time.Duration {
	b.Helper()
	var used syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &used); err != nil {
		b.Fatal(err)
	}
	return time.Duration(used.Utime.Nano() + used.Stime.Nano())
}

// spent is the processor time of one answer after another.
type spent []time.Duration

// report tells the median, and what nine in ten are under.
func (s spent) report(b *testing.B) {
	slices.Sort(s)
	for name, at := range map[string]int{"median-cpu-ms": len(s) / 2, "nine-in-ten-cpu-ms": len(s) * 9 / 10} {
		b.ReportMetric(float64(s[at].Microseconds())/1000, name)
	}
}

// BenchmarkFirstView is the first page of a case after a start, over HTTP: cpu-ms is the
// processor time of browser's side and server's together.
func BenchmarkFirstView(b *testing.B) {
	book, err := rules.BuiltIn()
	if err != nil {
		b.Fatal(err)
	}
	var used spent
	for b.Loop() {
		s, err := New(book, filepath.Join("..", "..", "..", "testdata", "cases"), time.Now, func(*http.Request) string { return "" })
		if err != nil {
			b.Fatal(err)
		}
		server, before := httptest.NewServer(s.Handler()), cpu(b)
		answer, err := http.Get(server.URL + "/job/wiper-again")
		if err != nil {
			b.Fatal(err)
		}
		if _, err := io.ReadAll(answer.Body); err != nil || answer.StatusCode != http.StatusOK {
			b.Fatal(answer.Status, err)
		}
		used = append(used, cpu(b)-before)
		answer.Body.Close()
		server.Close()
		s.Close()
	}
	used.report(b)
}

// BenchmarkAnswer is one answer over HTTP, with the page that asks what comes next:
// post, redirect, get.
func BenchmarkAnswer(b *testing.B) {
	book, err := rules.BuiltIn()
	if err != nil {
		b.Fatal(err)
	}
	for _, name := range []string{"wiper-again", "two-faults", "tank-short", "duplex-valve"} {
		text, err := os.ReadFile(filepath.Join("..", "..", "..", "testdata", "cases", name+".yaml"))
		if err != nil {
			b.Fatal(err)
		}
		b.Run("case="+name, func(b *testing.B) {
			var server *httptest.Server
			page, given, used := "", 0, spent{}
			read := func(answer *http.Response, err error) {
				b.Helper()
				if err != nil {
					b.Fatal(err)
				}
				defer answer.Body.Close()
				body, err := io.ReadAll(answer.Body)
				if err != nil || answer.StatusCode != http.StatusOK {
					b.Fatal(answer.Status, err)
				}
				page = string(body)
			}
			begin := func() {
				b.StopTimer()
				defer b.StartTimer()
				dir := b.TempDir()
				if err := os.WriteFile(filepath.Join(dir, "case.yaml"), text, 0o644); err != nil {
					b.Fatal(err)
				}
				s, err := New(book, dir, time.Now, func(*http.Request) string { return "" })
				if err != nil {
					b.Fatal(err)
				}
				server = httptest.NewServer(s.Handler())
				b.Cleanup(server.Close)
				b.Cleanup(func() { s.Close() })
				given = 0
				read(http.Get(server.URL + "/job/case"))
			}
			begin()
			for b.Loop() {
				press := benchAnswer.FindStringSubmatch(page)
				if press == nil || given == benchAnswers {
					begin()
					press = benchAnswer.FindStringSubmatch(page)
				}
				form := url.Values{press[1]: {html.UnescapeString(press[2])}}
				for _, m := range benchHidden.FindAllStringSubmatch(page, 3) {
					form.Set(m[1], html.UnescapeString(m[2]))
				}
				given++
				before := cpu(b)
				read(http.PostForm(server.URL+"/job/case", form))
				used = append(used, cpu(b)-before)
			}
			used.report(b)
		})
	}
}
