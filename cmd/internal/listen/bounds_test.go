package listen

import (
	"bufio"
	"cmp"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// More than is taken at once is refused before the page sees any of it.
func TestWhatIsTooLong(t *testing.T) {
	asked := 0
	s := serve(t, func(w http.ResponseWriter, r *http.Request) { asked++; here(w, r) })
	in := s.visitor(t)
	asked = 0
	for what, length := range map[string]int{"by a byte": 64_001, "by far": 20 << 20} {
		answer, text := ask(t, in, http.MethodPost, s.url("/"), strings.Repeat("x", length))
		assert.Equal(t, http.StatusRequestEntityTooLarge, answer.StatusCode, what)
		assert.Contains(t, text, "At most 64 kB")
	}
	answer, text := ask(t, in, http.MethodPost, s.url("/"), "", func(r *http.Request) { // of a length that is not said before
		r.Body, r.ContentLength = io.NopCloser(io.MultiReader(strings.NewReader(strings.Repeat("x", 64_000)), strings.NewReader("y"))), -1
	})
	assert.Equal(t, http.StatusRequestEntityTooLarge, answer.StatusCode, text)
	answer, _ = ask(t, in, http.MethodGet, s.url("/"), "", header("X-Long", strings.Repeat("x", 40_000)))
	assert.Equal(t, http.StatusRequestHeaderFieldsTooLarge, answer.StatusCode)
	assert.Zero(t, asked)
	answer, text = ask(t, in, http.MethodPost, s.url("/"), strings.Repeat("x", 64_000))
	assert.Equal(t, http.StatusOK, answer.StatusCode)
	assert.Contains(t, text, "x]")
}

// dial opens a connection without a browser; a minute is far more than it needs.
func (s *served) dial(t *testing.T) net.Conn {
	t.Helper()
	c, err := net.Dial("tcp", s.at.String())
	require.NoError(t, err)
	t.Cleanup(func() { c.Close() })
	require.NoError(t, c.SetDeadline(time.Now().Add(time.Minute)))
	return c
}

// quick has everything that is slow end soon.
func quick(b *bounds) { b.headers, b.request, b.idle = time.Second/5, time.Second/2, time.Second/5 }

// Who sends slowly, or nothing, is not waited for.
func TestWhoIsSlowIsNotWaitedFor(t *testing.T) {
	s := serve(t, here, quick)
	begin := fmt.Sprintf(" / HTTP/1.1\r\nHost: %s\r\nCookie: %s=%s\r\n", s.at, s.cookieName(), s.secret.cookie())
	for what, c := range map[string]struct{ sent, says string }{
		"nothing at all":   {"", ""},
		"half a line":      {"GET / HT", ""},
		"headers, no end":  {"GET" + begin, ""},
		"half a body":      {"POST" + begin + "Content-Length: 100\r\n\r\nhalf", "408"},
		"half a chunk":     {"POST" + begin + "Transfer-Encoding: chunked\r\n\r\n50\r\nhalf", "408"},
		"asks no second":   {"GET" + begin + "\r\n", "200"},
		"a chunk of words": {"POST" + begin + "Transfer-Encoding: chunked\r\n\r\nwords\r\n", "400"},
	} {
		t.Run(what, func(t *testing.T) {
			t.Parallel()
			conn := s.dial(t)
			_, err := io.WriteString(conn, c.sent)
			require.NoError(t, err)
			all, err := io.ReadAll(conn)
			require.NoError(t, err, "it is closed")
			first, _, _ := strings.Cut(string(all), "\n")
			assert.Contains(t, first, c.says)
			assert.NotContains(t, string(all), "[half]")
		})
	}
}

// A flood of connections keeps nobody out for long, and a browser that was let in
// still gets its page.
func TestAFloodOfConnections(t *testing.T) {
	s := serve(t, here, quick, func(b *bounds) { b.connections = 4 })
	in := s.visitor(t)
	for range 40 {
		conn := s.dial(t)
		_, err := io.WriteString(conn, "GET / HT")
		require.NoError(t, err)
	}
	answer, _ := ask(t, in, http.MethodGet, s.url("/"), "")
	assert.Equal(t, http.StatusOK, answer.StatusCode)
}

// Who asks nothing, or was not let in, keeps no place from a browser: of those who ask
// nothing the one that came first is closed, however long it might wait.
func TestWhoAsksNothingKeepsNoPlace(t *testing.T) {
	for what, sent := range map[string]string{
		"nothing at all": "", "half a line": "GET / HT", "headers, no end": "GET / HTTP/1.1\r\nHost: %s\r\n",
		"a stranger": "GET / HTTP/1.1\r\nHost: %s\r\n\r\n", "a stranger's half a body": "POST / HTTP/1.1\r\nHost: %s\r\nContent-Length: 100\r\n\r\nhalf",
		"a stranger's half a chunk": "POST / HTTP/1.1\r\nHost: %s\r\nTransfer-Encoding: chunked\r\n\r\n50\r\nhalf",
	} {
		t.Run(what, func(t *testing.T) {
			s := serve(t, here, func(b *bounds) { b.connections, b.headers, b.request, b.idle = 4, time.Hour, time.Hour, time.Hour })
			var first net.Conn
			for range 3 * s.bounds.connections {
				conn := s.dial(t)
				_, err := io.WriteString(conn, strings.ReplaceAll(sent, "%s", s.at.String()))
				require.NoError(t, err)
				first = cmp.Or(first, conn)
			}
			in := s.visitor(t)
			in.Timeout = time.Minute
			answer, _ := ask(t, in, http.MethodPost, s.url("/"), "a=b")
			assert.Equal(t, http.StatusOK, answer.StatusCode)
			_, err := io.ReadAll(first)
			assert.NotErrorIs(t, err, os.ErrDeadlineExceeded, "the first one is closed")
		})
	}
}

// So many connections at once are taken, and no more where each has asked.
func TestSoManyConnectionsAtOnce(t *testing.T) {
	s := serve(t, here, func(b *bounds) { b.connections = 2 })
	page := fmt.Sprintf("GET / HTTP/1.1\r\nHost: %s\r\nCookie: %s=%s\r\n\r\n", s.at, s.cookieName(), s.secret.cookie())
	var open []net.Conn
	for range 2 {
		conn := s.dial(t)
		_, err := io.WriteString(conn, page)
		require.NoError(t, err)
		_, err = bufio.NewReader(conn).ReadString('\n')
		require.NoError(t, err)
		open = append(open, conn)
	}
	third := s.dial(t)
	_, err := io.WriteString(third, page)
	require.NoError(t, err)
	require.NoError(t, third.SetReadDeadline(time.Now().Add(time.Second/5)))
	_, err = third.Read(make([]byte, 1))
	assert.Error(t, err, "the third waits")
	require.NoError(t, open[0].Close())
	require.NoError(t, third.SetReadDeadline(time.Now().Add(time.Minute)))
	line, err := bufio.NewReader(third).ReadString('\n')
	require.NoError(t, err)
	assert.Contains(t, line, "200")
}

// More answers at once than it makes are refused in words; the others are given.
func TestSoManyAnswersAtOnce(t *testing.T) {
	begun, go_on := make(chan bool), make(chan bool)
	s := serve(t, func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "/slow" {
			begun <- true
			<-go_on
		}
		here(w, r)
	}, func(b *bounds) { b.answers = 2 })
	in := s.visitor(t)
	given := make(chan int, 2)
	for range 2 {
		go func() {
			answer, err := in.Get(s.url("/slow"))
			if err != nil {
				given <- 0
				return
			}
			answer.Body.Close()
			given <- answer.StatusCode
		}()
		<-begun
	}
	answer, text := ask(t, in, http.MethodPost, s.url("/"), "a=b")
	assert.Equal(t, http.StatusServiceUnavailable, answer.StatusCode)
	assert.Contains(t, text, "Nothing was written. Wait a moment")
	close(go_on)
	assert.Equal(t, http.StatusOK, <-given)
	assert.Equal(t, http.StatusOK, <-given)
	answer, _ = ask(t, in, http.MethodGet, s.url("/"), "")
	assert.Equal(t, http.StatusOK, answer.StatusCode)
}

// The end waits for an answer that is under way, for no connection on which nothing was
// asked, and lets nobody new in.
func TestTheEndBreaksOffNoAnswer(t *testing.T) {
	begun, go_on := make(chan bool), make(chan bool)
	s := serve(t, func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "/slow" {
			begun <- true
			<-go_on
		}
		here(w, r)
	})
	in := s.visitor(t)
	idle := s.dial(t)
	got := make(chan string, 1)
	go func() {
		answer, err := in.Post(s.url("/slow"), "text/plain", strings.NewReader("noted"))
		if err != nil {
			got <- err.Error()
			return
		}
		defer answer.Body.Close()
		text, err := io.ReadAll(answer.Body)
		got <- fmt.Sprint(string(text), err)
	}()
	<-begun
	ended := make(chan error, 1)
	go func() { ended <- s.end() }()
	_, err := idle.Read(make([]byte, 1))
	require.ErrorIs(t, err, io.EOF, "the end has begun")
	_, err = stranger(t).Get(s.Address())
	assert.Error(t, err)
	select {
	case err := <-ended:
		t.Fatalf("it ended before the answer: %v", err)
	default:
	}
	close(go_on)
	assert.Contains(t, <-got, "POST /slow [noted]")
	assert.NoError(t, <-ended)
}

// A browser opens connections ahead: the end waits for none on which nothing was asked.
func TestTheEndWaitsForNoConnection(t *testing.T) {
	s := serve(t, here, func(b *bounds) { b.end = 2 * time.Second })
	ahead := s.dial(t)
	s.visitor(t) // came later: the other one was taken
	require.NoError(t, s.end())
	_, err := ahead.Read(make([]byte, 1))
	assert.ErrorIs(t, err, io.EOF)
}

// An answer that does not come to an end is not waited for without end, and that is
// said.
func TestTheEndIsBounded(t *testing.T) {
	begun, never := make(chan bool), make(chan bool)
	s := serve(t, func(http.ResponseWriter, *http.Request) { begun <- true; <-never }, func(b *bounds) { b.end = time.Second / 5 })
	defer close(never)
	go func() {
		r, _ := http.NewRequest(http.MethodGet, s.url("/"), nil)
		cookie(s.cookieName(), s.secret.cookie())(r)
		if answer, err := stranger(t).Do(r); err == nil {
			answer.Body.Close()
		}
	}()
	<-begun
	var broken *BrokenOffError
	require.ErrorAs(t, s.end(), &broken)
	assert.Contains(t, broken.Error(), "look into the file")
}
