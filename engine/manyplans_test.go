package engine

import (
	"fmt"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"telltale/evidence"
	"telltale/rules"
)

// startedText draws a case of a job that is under way: signs of the built-in book
// at their places, causes proved or ruled out, some of them corrected and looked at
// again, something open. Not all of it goes together.
func startedText(t *rapid.T, book *rules.Book) string {
	text := builtInCaseText(t, book)
	k, err := evidence.ParseCase("drawn.yaml", []byte(text), book.Vocabulary())
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	at := func(label string, level evidence.Level) string {
		if level == evidence.OfPump {
			return ""
		}
		return ": " + strconv.Quote(rapid.SampledFrom(k.Pump.Places(level)).Draw(t, label).String())
	}
	var placed []string
	for range rapid.IntRange(0, 3).Draw(t, "placed signs") {
		s := book.Signs.Get(rapid.SampledFrom(book.Signs.IDs()).Draw(t, "placed sign"))
		if s.Level == evidence.OfPump || !s.When.HoldsForPump(&k.Pump) || strings.Contains(text+strings.Join(placed, ""), "  "+s.ID+":") {
			continue
		}
		answer := "present"
		if kinds := s.KindIDs(); len(kinds) > 0 {
			answer = rapid.SampledFrom(kinds).Draw(t, "placed kind")
		}
		placed = append(placed, fmt.Sprintf("  %s: {%s: [%s]}\n", s.ID, answer, strings.TrimPrefix(at("sign at", s.Level), ": ")))
	}
	if len(placed) > 0 && !strings.Contains(text, "findings:") {
		text += "findings:\n"
	}
	text += strings.Join(placed, "") // the findings stand last
	verdicts := map[string][]string{}
	for range rapid.IntRange(0, 2).Draw(t, "verdicts") {
		c := book.Causes.Get(rapid.SampledFrom(book.Causes.IDs()).Draw(t, "cause"))
		line, verdict := c.ID+at("cause at", c.Level), rapid.SampledFrom([]string{"confirmed", "confirmed", "ruled-out"}).Draw(t, "verdict")
		verdicts[verdict] = append(verdicts[verdict], line)
		if verdict == "confirmed" && rapid.Bool().Draw(t, "corrected") {
			verdicts["corrected"] = append(verdicts["corrected"], line)
			if rapid.Bool().Draw(t, "looked again") {
				verdicts["looked-again"] = append(verdicts["looked-again"], line)
			}
		}
	}
	for _, verdict := range []string{"confirmed", "corrected", "looked-again", "ruled-out"} {
		if len(verdicts[verdict]) > 0 {
			fmt.Fprintf(&b, "%s:\n  - %s\n", verdict, strings.Join(verdicts[verdict], "\n  - "))
		}
	}
	if k.Pump.State == evidence.Isolated && rapid.Bool().Draw(t, "something is open") {
		a := book.Openings.Get(rapid.SampledFrom(book.Openings.IDs()).Draw(t, "opening"))
		text = strings.Replace(text, "state: isolated", fmt.Sprintf("state: isolated, open: [%s]", a.ID+at("open at", a.Level)), 1)
	}
	return text + b.String()
}

// With any local book that is taken, the list of any job under way is no less safe
// than the built-in book demands. Each book is tried with TELLTALE_PLANS cases, 10
// where nothing is said; -rapid.checks says how many books.
func TestNoPlanOfManyIsUnsafe(t *testing.T) {
	built := builtIn(t)
	each := 10
	if n, err := strconv.Atoi(os.Getenv("TELLTALE_PLANS")); err == nil {
		each = n
	}
	plans, steps, refused, drawn := 0, 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		d := &localDraft{T: t, book: built}
		text := d.legal()
		book, err := loadLocal(text)
		if err != nil {
			return
		}
		for range each {
			drawn++
			started := startedText(t, built)
			k, err := evidence.ParseCase("drawn.yaml", []byte(started), book.Vocabulary())
			if err != nil {
				continue // it contradicts itself
			}
			r, err := Outline(book, k)
			low := floor{built, k, r}
			if cannotBe(err) {
				refused++
				if fault := low.stops(); fault != "" {
					t.Fatalf("%s\n%s\n%s", fault, started, text)
				}
				continue
			}
			require.NoError(t, err)
			plans, steps = plans+1, steps+len(r.Steps)
			if fault := first(unsafeOver(book, built, k, r), low.under()); fault != "" {
				t.Fatalf("%s\n%s\n%s", fault, started, text)
			}
		}
	})
	t.Logf("%d plans with %d steps, %d cases refused, %d drawn", plans, steps, refused, drawn)
	assert.Greater(t, 2*plans, drawn, "most cases must lead to a plan")
}
