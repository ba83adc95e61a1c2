package rules

import (
	"fmt"
	"runtime"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Shapes of local books that are invented and as large as a section may be: what
// the built-in book has of it is counted in.
var largeBooks = map[string]func(n int) string{
	// each step waits for the three before it
	"safety": func(n int) string {
		return manyEntries("safety", "s", n, func(i int) string {
			return "title: T, for: isolation, signal: danger, minutes: 1, do: x, " + after("after", "s", i, 3)
		})
	},
	"openings": func(n int) string {
		return manyEntries("openings", "o", n, func(i int) string {
			return "title: T, of: cylinder, minutes: 1, do: x, close: {title: x, minutes: 1, do: x}, " + after("needs", "o", i, 3)
		})
	},
	"checks": func(n int) string {
		return manyEntries("checks", "c", n, func(i int) string {
			return "title: T, of: cylinder, pump: isolated, minutes: 1, do: x, openings: [piston-out], finds: {wrong-rubber: almost-surely}, results: [{if: x, then: x, points-to: [wrong-rubber]}, {if: y, then: y, clears: [wrong-rubber]}], " + after("after", "c", i, 1)
		})
	},
	// nothing tells them apart
	"causes": func(n int) string {
		return manyEntries("causes", "k", n, func(int) string {
			return "title: T, of: cylinder, group: fluid-end-parts, how-common: rare, why: x, repair: x, role: root, look-again: x, shows: {gear-marks: often}, haste: {wait: watch, because: x, basis: judgement}"
		})
	},
}

func manyEntries(section, letter string, n int, entry func(i int) string) string {
	var out strings.Builder
	fmt.Fprintf(&out, "rulebook: {name: large, version: \"1\"}\n%s:\n", section)
	for i := range n {
		fmt.Fprintf(&out, "  %s%d: {%s, basis: judgement}\n", letter, i, entry(i))
	}
	return out.String()
}

func after(key, letter string, i, most int) string {
	var ids []string
	for k := max(0, i-most); k < i; k++ {
		ids = append(ids, fmt.Sprintf("%s%d", letter, k))
	}
	return key + ": [" + strings.Join(ids, ", ") + "]"
}

func loadLarge(text string) (*Book, error) {
	return LoadOver(fstest.MapFS{"large.yaml": {Data: []byte(text)}}, "rig")
}

// room is how many entries a section of the built-in book leaves.
func room(t testing.TB, section string) int {
	t.Helper()
	return bound(mostIn, section, mostEntries) - len(asRead(t).sections[section])
}

// asRead is the built-in book as it is read.
func asRead(t testing.TB) *layer {
	t.Helper()
	base, _ := newLoader().readLayer(BuiltInFiles(), BuiltInDir)
	require.NotNil(t, base)
	return base
}

// Every book inside the bounds is loaded and vetted without much: what is
// allocated on the way bounds what is done.
func TestALargeBookIsLoadedAndVetted(t *testing.T) {
	_, err := BuiltIn()
	require.NoError(t, err)
	for section, text := range largeBooks {
		t.Run(section, func(t *testing.T) {
			var before, then runtime.MemStats
			runtime.ReadMemStats(&before)
			book, err := loadLarge(text(room(t, section)))
			require.NoError(t, err)
			remarks := book.Vet()
			runtime.ReadMemStats(&then)
			assert.Less(t, (then.TotalAlloc-before.TotalAlloc)>>20, uint64(256), "MiB, with what was let go again")
			assert.Less(t, len(remarks), mostEntries*mostEntries)

			_, err = loadLarge(text(room(t, section) + 1))
			require.Error(t, err)
			assert.Contains(t, err.Error(), fmt.Sprintf("the section %s has %d entries; at most %d are read", section, bound(mostIn, section, mostEntries)+1, bound(mostIn, section, mostEntries)))
			assert.Contains(t, err.Error(), "rig/large.yaml:")
		})
	}
}

// What comes before what is followed once over each step, however the ways cross.
func TestCirclesAreFoundInOneWalk(t *testing.T) {
	var table Table[Check]
	for i := range mostEntries {
		table.add(fmt.Sprint(i), &Check{})
	}
	asked := 0
	before := func(id string) (out []string) {
		asked++
		var n int
		_, err := fmt.Sscan(id, &n)
		require.NoError(t, err)
		for k := max(0, n-24); k < n; k++ {
			out = append(out, fmt.Sprint(k))
		}
		return out
	}
	assert.Empty(t, inCircles(&table, before))
	assert.Equal(t, mostEntries, asked)

	circles := inCircles(&table, func(id string) []string {
		return map[string][]string{"1": {"2"}, "2": {"3"}, "3": {"1", "4"}, "4": {"5"}, "6": {"6"}, "7": {"1"}}[id]
	})
	assert.Equal(t, map[string]bool{"1": true, "2": true, "3": true, "6": true}, circles)
}

// Too long a list, mapping or text is told with its bound, what was read and its
// place.
func TestTooMuchInAnEntryIsRefused(t *testing.T) {
	head := "rulebook: {name: large, version: \"1\"}\n"
	ids := func(n int, format string) string {
		var out []string
		for i := range n {
			out = append(out, fmt.Sprintf(format, i))
		}
		return strings.Join(out, ", ")
	}
	for want, text := range map[string]string{
		"rig/large.yaml:2:":                                       head + "signs: {odd: {title: T, kinds: {" + ids(mostItems+1, "k%d: x") + "}}}",
		"kinds has 101 entries; at most 100 are read":             head + "signs: {odd: {title: T, kinds: {" + ids(mostItems+1, "k%d: x") + "}}}",
		"after has 25 items; at most 24 are read":                 head + "safety: {odd: {title: T, after: [" + ids(25, "s%d") + "]}}",
		"the text under do has 5000 bytes; at most 4000 are read": head + "safety: {odd: {title: T, do: \"" + strings.Repeat("{l1} ", 1000) + "\"}}",
	} {
		_, err := loadLarge(text)
		require.Error(t, err)
		assert.Contains(t, err.Error(), want)
	}
}

// What checks wait for is bounded over the book as a whole, wherever it stands.
func TestTooManyChecksAfterOthersAreRefused(t *testing.T) {
	has := 0
	for _, e := range asRead(t).sections["checks"] {
		has += afterLinks(e.value)
	}
	require.Positive(t, has)
	checks := func(links int) string {
		return manyEntries("checks", "c", links+1, func(i int) string {
			to := after("after", "c", i, 1)
			switch {
			case i == 0:
				to = "of: pump"
			case i%2 == 1:
				to = "after-when: [{when: 'duplex', " + to + "}]"
			}
			return "title: T, minutes: 1, do: x, finds: {wrong-rubber: almost-surely}, results: [{if: x, then: x, points-to: [wrong-rubber]}, {if: y, then: y, clears: [wrong-rubber]}], " + to
		})
	}
	for links, refused := range map[int]bool{mostAfter - has: false, mostAfter - has + 1: true} {
		l := newLoader()
		local, _ := l.readLayer(fstest.MapFS{"book.yaml": {Data: []byte(checks(links))}}, "rig")
		require.NotNil(t, local)
		l.layer = l.overlay(asRead(t), local)
		l.fewEnoughAfter()
		err := l.problems.Err()
		if !refused {
			assert.NoError(t, err)
			continue
		}
		require.Error(t, err)
		assert.Contains(t, err.Error(), "the checks of this book come after others 301 times in all (after: and after-when:); at most 300 are read")
		assert.Contains(t, err.Error(), fmt.Sprintf("rig/book.yaml:%d:", 2+links+1), "the check that is one too many")
	}
}

func BenchmarkLargeBook(b *testing.B) {
	for section, text := range largeBooks {
		b.Run(section, func(b *testing.B) {
			text := text(room(b, section))
			for b.Loop() {
				book, err := loadLarge(text)
				if err != nil {
					b.Fatal(err)
				}
				book.Vet()
			}
		})
	}
}
