package listen

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log"
	"net"
	"net/http"
	"net/netip"
	"slices"
	"sync"
	"time"

	"telltale/cmd/internal/doc"
)

// bounds are what one may take of a server.
type bounds struct {
	body, header    int           // bytes
	headers         time.Duration // to send what stands before the body
	request, answer time.Duration // to send all of a request, and to be answered
	idle            time.Duration // of a connection on which nothing is asked
	end             time.Duration // of the answers that are under way at the end
	connections     int           // at once
	answers         int           // under way at once
}

// usual are generous for one browser on one machine.
var usual = bounds{
	body: 64_000, header: 16 << 10,
	headers: 5 * time.Second, request: 30 * time.Second, answer: 2 * time.Minute, idle: time.Minute, end: 10 * time.Second,
	connections: 64, answers: 16,
}

// Server listens on an address of the machine itself.
type Server struct {
	Door
	listener *net.TCPListener
	bounds   bounds
	log      *log.Logger
}

// Open listens; port 0 is any free one. What goes wrong later is written to errs.
func Open(address netip.Addr, port int, errs io.Writer) (*Server, error) {
	listener, err := net.ListenTCP("tcp", net.TCPAddrFromAddrPort(netip.AddrPortFrom(address, uint16(port))))
	if err != nil {
		return nil, err
	}
	at := listener.Addr().(*net.TCPAddr).AddrPort()
	return &Server{Door: Door{at: at, secret: newSecret()}, listener: listener, bounds: usual, log: log.New(shown{errs}, "telltale: ", 0)}, nil
}

// Close ends a server that was not served.
func (s *Server) Close() error { return s.listener.Close() }

// BrokenOffError says that an answer was still under way at the end.
type BrokenOffError struct{ After time.Duration }

// Error says so in words.
func (e *BrokenOffError) Error() string {
	return fmt.Sprintf("an answer was still under way after %v and was broken off; look into the file whether it is there", e.After)
}

// Serve answers with the pages of a handler until the context ends. Answers that are
// under way then are finished.
func (s *Server) Serve(ctx context.Context, pages http.Handler) error {
	b := s.bounds
	fresh := &newcomers{}
	server := &http.Server{
		Handler: &guard{
			door: s.Door, cross: http.NewCrossOriginProtection(), body: int64(b.body),
			slots: make(chan struct{}, b.answers), inside: pages, log: s.log,
		},
		ReadHeaderTimeout: b.headers, ReadTimeout: b.request, WriteTimeout: b.answer, IdleTimeout: b.idle, MaxHeaderBytes: b.header,
		ConnState: fresh.note, ErrorLog: s.log, DisableGeneralOptionsHandler: true,
	}
	server.RegisterOnShutdown(fresh.close)
	ended := make(chan error, 1)
	go func() {
		ended <- server.Serve(&counted{TCPListener: s.listener, fresh: fresh, slots: make(chan struct{}, b.connections), closed: make(chan struct{})})
	}()
	select {
	case err := <-ended:
		return errors.Join(err, server.Close())
	case <-ctx.Done():
	}
	last, cancel := context.WithTimeout(context.Background(), b.end)
	defer cancel()
	if err := server.Shutdown(last); errors.Is(err, context.DeadlineExceeded) {
		return errors.Join(&BrokenOffError{b.end}, server.Close())
	}
	return nil
}

// newcomers are connections on which no whole request came yet, the oldest first. A
// browser opens some ahead; the end does not wait for them.
type newcomers struct {
	mu          sync.Mutex
	connections []net.Conn
}

func (n *newcomers) note(c net.Conn, state http.ConnState) {
	n.mu.Lock()
	defer n.mu.Unlock()
	if state == http.StateNew {
		n.connections = append(n.connections, c)
		return
	}
	n.connections = slices.DeleteFunc(n.connections, func(one net.Conn) bool { return one == c })
}

// closeOldest closes the one that came first, and says whether there was one.
func (n *newcomers) closeOldest() bool {
	n.mu.Lock()
	defer n.mu.Unlock()
	if len(n.connections) == 0 {
		return false
	}
	n.connections[0].Close()
	n.connections = slices.Delete(n.connections, 0, 1)
	return true
}

func (n *newcomers) close() {
	for n.closeOldest() {
	}
}

// counted takes so many connections at once. For the next one the oldest newcomer is
// closed, so that nobody who asks nothing keeps a browser out; where all have asked, it
// waits until one of them is closed.
type counted struct {
	*net.TCPListener
	fresh  *newcomers
	slots  chan struct{}
	closed chan struct{}
	once   sync.Once
}

// Accept is as of net.Listener.
func (l *counted) Accept() (net.Conn, error) {
	c, err := l.AcceptTCP()
	if err != nil {
		return nil, err
	}
	for len(l.slots) == cap(l.slots) && l.fresh.closeOldest() {
	}
	select {
	case l.slots <- struct{}{}:
		return &counting{TCPConn: c, free: sync.OnceFunc(func() { <-l.slots })}, nil
	case <-l.closed:
		return nil, errors.Join(net.ErrClosed, c.Close())
	}
}

// Close is as of net.Listener.
func (l *counted) Close() error {
	l.once.Do(func() { close(l.closed) })
	return l.TCPListener.Close()
}

// counting gives its place free when it is closed.
type counting struct {
	*net.TCPConn
	free func()
}

// Close is as of net.Conn.
func (c *counting) Close() error {
	defer c.free()
	return c.TCPConn.Close()
}

// shown writes what somebody else may have sent.
type shown struct{ to io.Writer }

func (s shown) Write(b []byte) (int, error) {
	if _, err := io.WriteString(s.to, doc.Shown(string(b))); err != nil {
		return 0, err
	}
	return len(b), nil
}
