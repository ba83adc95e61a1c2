package listen

import (
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"time"
)

// secretName is the name of the secret in an address.
const secretName = "secret"

// Door is where a server lets in.
type Door struct {
	at     netip.AddrPort
	secret secret
}

// Address is to be read and typed: it lets in as long as the server runs.
func (d Door) Address() string { return d.with(string(d.secret)) }

// Opening is to be handed to a browser: it lets in for a minute.
func (d Door) Opening() string { return d.with(d.secret.opening(time.Now())) }

// Port is the port of the address.
func (d Door) Port() int { return int(d.at.Port()) }

func (d Door) with(word string) string {
	return "http://" + d.at.String() + "/?" + url.Values{secretName: {word}}.Encode()
}

// cookieName has the port in it: a browser sends the cookies of a machine to all its
// ports.
func (d Door) cookieName() string { return fmt.Sprintf("telltale-%d", d.Port()) }

// isOpen says whether the server of this secret answers there.
func (d Door) isOpen() bool {
	asks := http.Client{
		Timeout:       doorTimeout,
		Transport:     &http.Transport{DisableKeepAlives: true}, // and no proxy
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}
	answer, err := asks.Get(d.Opening())
	if err != nil {
		return false
	}
	answer.Body.Close()
	for _, c := range answer.Cookies() {
		if c.Name == d.cookieName() && same(c.Value, d.secret.cookie()) {
			return true
		}
	}
	return false
}

// doorTimeout is how long a server may take to say that it is there.
const doorTimeout = 2 * time.Second

// Loopback reads an address of the machine itself.
func Loopback(address string) (netip.Addr, error) {
	if address == "localhost" {
		return netip.AddrFrom4([4]byte{127, 0, 0, 1}), nil
	}
	a, err := netip.ParseAddr(address)
	if err != nil || !a.IsLoopback() || a.Zone() != "" || a.Is4In6() {
		return netip.Addr{}, fmt.Errorf("%q is no address of the machine itself; expected 127.0.0.1 or ::1", address)
	}
	return a, nil
}

// hosts are the names under which a browser may ask for the door: another name that
// leads here is somebody else's.
func (d Door) hosts() []string {
	port := fmt.Sprint(d.Port())
	return []string{d.at.String(), net.JoinHostPort("localhost", port)}
}
