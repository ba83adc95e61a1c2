package site

import (
	"net/http"
	"testing"
	"os"
	"time"

	"telltale/rules"
)

func TestTry(t *testing.T) {
	dir := os.Getenv("TRY")
	if dir == "" { t.Skip() }
	b, err := rules.BuiltIn()
	if err != nil { t.Fatal(err) }
	s, err := New(b, dir, time.Now)
	if err != nil { t.Fatal(err) }
	t.Fatal(http.ListenAndServe("127.0.0.1:8099", s.Handler()))
}
