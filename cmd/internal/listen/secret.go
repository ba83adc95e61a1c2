package listen

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"strconv"
	"strings"
	"time"
)

// secret lets in who has it. Each start has its own.
type secret string

// newSecret draws one of at least 128 bits, of letters and figures.
func newSecret() secret { return secret(rand.Text()) }

// openingLasts is how long what a browser is opened with lets in. It stands in the list
// of processes, which everybody on the machine may read.
const openingLasts = time.Minute

// opening lets in for a short time after a moment.
func (s secret) opening(at time.Time) string {
	stamp := strconv.FormatInt(at.Unix(), 36)
	return stamp + "." + s.seal("opening "+stamp)
}

// opens says whether a word lets in: the secret itself, or an opening that is not too
// old.
func (s secret) opens(word string, now time.Time) bool {
	if same(word, string(s)) {
		return true
	}
	stamp, _, _ := strings.Cut(word, ".")
	seconds, err := strconv.ParseInt(stamp, 36, 64)
	if err != nil {
		return false
	}
	at := time.Unix(seconds, 0)
	return now.Sub(at).Abs() <= openingLasts && same(word, s.opening(at))
}

// cookie is what a browser keeps once it was let in; the secret cannot be had from it.
func (s secret) cookie() string { return s.seal("cookie") }

// seal makes of a text what nobody makes without the secret.
func (s secret) seal(text string) string {
	mac := hmac.New(sha256.New, []byte(s))
	mac.Write([]byte(text))
	return base64.RawURLEncoding.EncodeToString(mac.Sum(nil))
}

// same compares in a time that does not tell where two texts differ.
func same(a, b string) bool { return subtle.ConstantTimeCompare([]byte(a), []byte(b)) == 1 }
