package rules

import (
	"errors"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
	"telltale/evidence/source"
)

// withCondition is the small book with another condition.
func withCondition(condition string) string {
	return strings.Replace(smallBook, `when: present("knock")`, "when: '"+strings.ReplaceAll(condition, "'", "''")+"'", 1)
}

// conditionCases are pumps on which a condition may or may not hold.
func conditionCases(t testing.TB, book *Book) []*evidence.Case {
	var out []*evidence.Case
	for _, text := range []string{
		"pump: {action: triplex-single-acting, state: stopped, speed: 95 strokes/min, liner: 6 1/2 in}\nrecent: [valves-changed]\nfindings: {knock: absent, wiper-leaks: {again: [1, 2]}}\n",
		"pump: {action: duplex-double-acting, state: running, discharge: 2000 psi, stroke: 16 in}\nfindings: {knock: present}\nconfirmed: [rod-crooked: left]\n",
		"pump: {action: triplex-single-acting, state: isolated, rotation: reverse, liner: 150 mm, stroke: 12 in, speed: 20 spm, discharge: 1 MPa}\nfindings: {wiper-leaks: {first: all}}\n",
	} {
		k, err := evidence.ParseCase("c.yaml", []byte(text), book.Vocabulary())
		require.NoError(t, err)
		out = append(out, k)
	}
	return out
}

// What a condition says it is, compiled again, gives the same answers.
func FuzzConditionAgain(f *testing.F) {
	for _, seed := range []string{
		`present("knock")`, `  not present("wiper-leaks", "again")  `, `speed > spm(90) or liner <= mm(165.1)`, `everywhere("wiper-leaks") && !absent("knock")`,
		`recent("valves-changed") and confirmed("rod-crooked")`, `not (discharge > psi(1e3)) || state_is("stopped")`, `1 < 2 < 3`, "true\nor\tfalse", `"a" < "b"`, `stroke >= inch(0x10)`,
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, condition string) {
		book, err := load(withCondition(condition))
		if err != nil || len(book.Stops.List) != 1 || book.Stops.List[0].When == nil {
			return
		}
		again, err := load(withCondition(book.Stops.List[0].When.Source))
		require.NoError(t, err, "%q does not compile again", book.Stops.List[0].When.Source)
		for i, k := range conditionCases(t, book) {
			require.Equal(t, book.Stops.List[0].When.Holds(k, book), again.Stops.List[0].When.Holds(k, again), "%q in case %d", condition, i)
		}
	})
}

// FuzzLoadOver lays whatever comes over the built-in book.
func FuzzLoadOver(f *testing.F) {
	for _, seed := range []string{
		"rulebook: {name: x, version: '1'}\nworks: {mud-changed: {title: Mud changed, basis: judgement}}\n",
		"rulebook: {name: x, version: '1'}\ncauses: {piston-worn: {how-common: rare, basis: judgement}}\n",
		"rulebook: {name: x, version: '1'}\nsafety: {prove-zero: {in-full: false, basis: judgement}}\n",
		"rulebook: {name: x, version: '1'}\nchecks: {valve-look: {finds: {piston-worn: surely}, basis: judgement}}\nscale: {finds: {surely: 0.5}, basis: judgement}\n",
		"rulebook: {name: x, version: '1'}\ncauses: {sandy-mud: {brings: [{cause: piston-worn, how-often: often, shows: {piston-damage: {worn-down: 0.9}}, when: present(\"sand-high\"), basis: judgement}], basis: judgement}}\n",
		"rulebook: {name: x, version: '1'}\ncauses: {piston-worn: {brings: [{cause: piston-worn, how-often: 0.5, basis: judgement}], role: root, basis: judgement}}\n",
		"planning: {least-gain: 2}\n", "rulebook: 3\n", "causes: [x]\n",
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		book, err := LoadOver(fstest.MapFS{"a.yaml": {Data: text}}, "local")
		if (book == nil) != (err != nil) {
			t.Fatal("half a book")
		}
		var input *source.InputError
		if err != nil && !errors.As(err, &input) {
			t.Fatalf("unexpected error %v", err)
		}
		if err != nil {
			for _, p := range input.Problems {
				require.Contains(t, source.Codes(), p.Code, "%v", p)
			}
		}
		if book != nil {
			book.Vet()
		}
	})
}

// Conditions that are built to hang: each compiles or is refused, and is run, in
// bounded time.
func TestConditionsBuiltToHang(t *testing.T) {
	deep := func(open, close string, n int) string {
		return strings.Repeat(open, n) + "true" + strings.Repeat(close, n)
	}
	done := make(chan struct{})
	go func() {
		defer close(done)
		for _, condition := range []string{
			deep("(", ")", 500), deep("not ", "", 240), deep("!", "", 1000), deep("true and (", ")", 80), deep("[", "]", 500), deep("{a: ", "}", 250), deep("-", "", 1000),
			strings.Repeat("true or ", 120) + "true", strings.Repeat("1 < ", 250) + "2", strings.Repeat("true ? ", 140) + "true" + strings.Repeat(" : false", 100),
			`all(1..1000000000, # > 0)`, `len(1..1000000000) > 3`, `1 in 1..1000000000`, `"a" matches "` + strings.Repeat("(a*)*", 100) + `b"`, `(a*)*`,
			`reduce(1..1000000, #acc + "x", "") > "y"`, `repeat("x", 1000000000) > "y"`, `2 ** 2 ** 2 ** 2 ** 2 ** 2 > 1`, `let a = "x"; let b = a + a; let c = b + b; c > "y"`,
			`speed > spm(1e308 * 10)`, `speed > spm(99999999999999999999999999)`, `9223372036854775807 + 1 > 0`, `map(filter(1..1e9, # % 2 == 0), # * 2)`, `sum(1..1e9) > 0`,
			`toJSON(1..100000000) > ""`, `fromJSON("[[[[") > 1`, `now() > date("x")`, `"` + strings.Repeat(`\u0000`, 160) + `" > "a"`, "/*" + strings.Repeat("/*", 500), strings.Repeat("\n", 1000) + "true",
		} {
			book, err := load(withCondition(condition))
			if err != nil {
				var input *source.InputError
				assert.ErrorAs(t, err, &input, condition)
				continue
			}
			for _, k := range conditionCases(t, book) {
				book.Stops.List[0].When.Holds(k, book)
			}
		}
	}()
	select {
	case <-done:
	case <-time.After(time.Minute):
		t.Fatal("a condition hangs")
	}
}
