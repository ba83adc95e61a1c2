package engine

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"telltale/engine/chances"
	"telltale/evidence"
	"telltale/rules"
)

// One more look of the watcher, by itself: at what can only be seen with
// something opened and was taken beside moving parts.

// drawCovers has some signs of a drawn book need something opened, and draws
// when the case says that they were taken.
func drawCovers(t *rapid.T, d *bookDraft, book *rules.Book, k *evidence.Case) {
	for _, s := range book.Signs.List {
		if doors := d.atOrAbove(string(s.Level), d.opening); len(doors) > 0 && rapid.IntRange(0, 2).Draw(t, "needs something opened") == 0 {
			s.Openings = []string{rapid.SampledFrom(doors).Draw(t, "behind")}
		}
	}
	switch rapid.IntRange(0, 3).Draw(t, "taken") {
	case 0:
		k.Taken = map[string]evidence.Taken{evidence.Others: evidence.AtLastStop}
	case 1:
		k.Taken = map[string]evidence.Taken{evidence.Others: evidence.WhileRunning}
	}
}

// coversFault wants every such sign named, and an answer that is the same as
// without it.
func coversFault(book *rules.Book, k *evidence.Case, r *Report) string {
	when := k.Taken[evidence.Others]
	bad := func(sign string) bool {
		if len(book.Signs.Get(sign).Openings) == 0 || when == evidence.AtLastStop {
			return false
		}
		return when == evidence.WhileRunning || k.Pump.State == evidence.Running
	}
	named := map[string]bool{}
	for _, b := range r.Beside {
		named[b.Name] = true
	}
	clean := *k
	clean.Findings = nil
	for _, f := range k.Findings {
		if !bad(f.Sign) {
			clean.Findings = append(clean.Findings, f)
			continue
		}
		if !named[f.Sign] {
			return f.Sign + " was taken beside moving parts and is not named"
		}
	}
	for name := range named {
		if s := book.Signs.Get(name); s != nil && !bad(name) {
			return name + " is named as taken beside moving parts"
		}
	}
	if len(clean.Findings) == len(k.Findings) || r.LeavePump {
		return ""
	}
	other, err := Diagnose(book, &clean)
	if err != nil {
		return "without what was taken beside moving parts: " + err.Error()
	}
	if other.LeavePump {
		return "" // the stops hear what is not weighed
	}
	for _, c := range r.Causes {
		i := slices.IndexFunc(other.Causes, func(o chances.Cause) bool { return o.Cause == c.Cause && o.Place == c.Place })
		if i < 0 || math.Abs(other.Causes[i].Probability-c.Probability) > 1e-12 {
			return fmt.Sprintf("%s %v is weighed with what was taken beside moving parts", c.Cause, c.Place)
		}
	}
	return ""
}

// The look is itself tried: it cries out when such a sign is used.
func TestTheWatcherSeesCoversOff(t *testing.T) {
	book, k := builtInCase(t, "pump: {action: triplex-single-acting, state: running}\nfindings: {flange-gap: {2: one-side}, wiper-leaks: {again: [2]}}\ntaken: at-last-stop")
	used, err := Diagnose(book, k)
	require.NoError(t, err)
	assert.Empty(t, coversFault(book, k, used))
	k.Taken = nil
	assert.Contains(t, coversFault(book, k, used), "is not named")
	used.Beside = []chances.Beside{{Name: "flange-gap"}}
	assert.Contains(t, coversFault(book, k, used), "is weighed with")
	r, err := Diagnose(book, k)
	require.NoError(t, err)
	assert.Empty(t, coversFault(book, k, r))
}
