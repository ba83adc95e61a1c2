package rules

import (
	"errors"
	"runtime"
	"strings"
	"testing"
	"testing/fstest"
	"weak"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
	"telltale/evidence/source"
)

// smallBook is a whole, sound book; the tests below spoil one line at a time.
const smallBook = `rulebook: {name: small, version: "1"}
planning: {least-gain: 0.01, basis: judgement}
scale:
  how-common: {common: 0.02}
  shows: {often: 0.6}
  finds: {surely: 0.9}
  background: {usual: 0.01}
  basis: judgement
groups: {alignment: {title: Alignment, basis: judgement}}
works: {valves-changed: {title: Valves changed, basis: judgement}}
limits: {cap-torque: {title: Torque of the cap screws, dimension: torque, basis: judgement}}
signs:
  wiper-leaks: {title: Wiper leaks, ask: Leaks, of: cylinder, pump: any, kinds: {again: again, first: first}, basis: judgement}
  knock: {title: Knock, ask: Knocks, of: pump, pump: running, basis: judgement}
causes:
  rod-crooked:
    title: Rod crooked
    group: alignment
    of: cylinder
    how-common: common
    shows: {wiper-leaks: {again: often}, knock: 0.2}
    why: Because.
    repair: "Screws to {cap-torque}."
    look-again: Measure again.
    role: root
    haste: {wait: next-connection, because: It breaks., basis: judgement}
    basis: common practice, no source
openings:
  cover-off: {title: Cover off, of: cylinder, minutes: 5, do: Off., close: {title: On, minutes: 5, do: On.}, basis: judgement}
safety:
  look-clear: {title: Clear, for: running, signal: warning, minutes: 1, do: Clear., basis: judgement}
  stop-it: {title: Stop, for: stopping, signal: danger, minutes: 1, do: Stop., basis: judgement}
  lock-off: {title: Lock, for: isolation, signal: danger, in-full: true, minutes: 5, do: Lock., basis: judgement}
checks:
  gauge-face: {title: Gauge, of: cylinder, pump: isolated, openings: [cover-off], minutes: 5, do: Gauge., finds: {rod-crooked: surely}, results: [{if: A gap, then: Tighten., points-to: [rod-crooked]}], basis: judgement}
stops:
  smoke: {signal: danger, title: Knocking hard, when: present("knock"), do: [Stop.], by: at-once, stop-pump: true, basis: judgement}
haste: {stop-now: {title: now, from: 0.15, running: Stop., standing: Stay.}, next-connection: {title: soon, from: 0.25, running: Soon., standing: Short.}, planned-stop: {title: later, from: 0.3, running: Later., standing: Run.}, watch: {title: watch, running: Watch., standing: Watch.}, unsure: 0.1, nothing-seen: Nothing., unexplained: Open., settled: Done., locked: Locked., well-first: {title: well, running: Well., standing: Well.}, basis: judgement}
`

func load(text string) (*Book, error) {
	return Load(fstest.MapFS{"a.yaml": {Data: []byte(text)}}, "book")
}

func TestASoundBookLoads(t *testing.T) {
	b, err := load(smallBook)
	require.NoError(t, err)
	cause := b.Causes.Get("rod-crooked")
	assert.Equal(t, 0.02, cause.Common)
	assert.Equal(t, []Link{{Sign: "wiper-leaks", Total: 0.6, Kinds: []float64{0.6, 0}}, {Sign: "knock", Total: 0.2}}, cause.Shows)
	assert.Len(t, b.Digest, 12)
	assert.Equal(t, []string{"again", "first"}, b.Vocabulary().Signs["wiper-leaks"].Kinds)
}

// A book keeps nothing of its loading: the trees of its files are five times as
// large as it.
func TestABookKeepsNothingOfItsLoading(t *testing.T) {
	l := newLoader()
	layer, _ := l.readLayer(BuiltInFiles(), BuiltInDir)
	require.NotNil(t, layer)
	l.layer = *layer
	book, err := l.finish()
	require.NoError(t, err)
	loader, node := weak.Make(l), weak.Make(layer.sections["causes"][0].value)
	l, layer = nil, nil
	runtime.GC()
	assert.Nil(t, loader.Value())
	assert.Nil(t, node.Value())
	runtime.KeepAlive(book)
}

func TestEveryMistakeOfABookHasItsPlace(t *testing.T) {
	for name, c := range map[string]struct{ old, new, want string }{
		"unknown sign":          {"knock: 0.2", "nock: 0.2", `unknown-name | book/a.yaml:21:42: unknown sign "nock"; expected one of: knock, wiper-leaks; did you mean knock?`},
		"unknown kind":          {"{again: often}", "{agen: often}", `unknown-name | book/a.yaml:21:27: unknown kind "agen"; expected one of: again, first; did you mean again?`},
		"kind like a cylinder":  {"first: first}", "left: first}", `bad-name | "left" cannot be a kind; expected lower-case words with hyphens, not a word of the case file`},
		"kinds over one":        {"{again: often}", "{again: often, first: 0.5}", `out-of-range | the kinds of wiper-leaks add up to 1.1; at most 1 is possible, since one finding has one kind`},
		"kinds left out":        {"wiper-leaks: {again: often}", "wiper-leaks: often", `does-not-fit | book/a.yaml:21:26: wiper-leaks has kinds; say how often for each kind that the cause shows; expected one of: again, first`},
		"unknown word":          {"how-common: common\n", "how-common: comon\n", `unknown-name | book/a.yaml:20:17: unknown how-common "comon"; expected one of: common; did you mean common?`},
		"chance above one":      {"knock: 0.2", "knock: 1.2", `out-of-range | how often must be a number from 1e-06 to 0.999999; read "1.2"`},
		"chance too small":      {"knock: 0.2", "knock: 1e-9", `out-of-range | how often must be a number from 1e-06 to 0.999999; read "1e-9"`},
		"unknown group":         {"group: alignment", "group: aligment", `unknown-name | unknown group "aligment"; expected one of: alignment; did you mean alignment?`},
		"unknown limit":         {"{cap-torque}.", "{cap-torqe}.", `unknown-name | book/a.yaml:23:25: unknown limit "cap-torqe"; expected one of: cap-torque; did you mean cap-torque?`},
		"unknown opening":       {"[cover-off]", "[cover-of]", `unknown-name | unknown opening "cover-of"; expected one of: cover-off; did you mean cover-off?`},
		"unknown cause":         {"finds: {rod-crooked", "finds: {rod-croked", `unknown-name | unknown cause "rod-croked"`},
		"no basis":              {"minutes: 5, do: Gauge., finds: {rod-crooked: surely}, results: [{if: A gap, then: Tighten., points-to: [rod-crooked]}], basis: judgement", "minutes: 5, do: Gauge., finds: {rod-crooked: surely}, results: []", `missing | gauge-face has no "basis"`},
		"weak basis":            {"basis: common practice, no source", "basis: trust me", `missing | book/a.yaml:27:12: basis "trust me" says too little`},
		"bad id":                {"  rod-crooked:\n", "  Rod crooked:\n", `bad-name | book/a.yaml:16:3: "Rod crooked" cannot be an id`},
		"unknown key":           {"    why: Because.", "    wy: Because.", `unknown-key | rod-crooked has no key "wy"`},
		"unknown section":       {"stops:", "stop:", `unknown-key | book/a.yaml:36:1: the file has no key "stop"`},
		"level too fine":        {"gauge-face: {title: Gauge, of: cylinder", "gauge-face: {title: Gauge, of: pump", `does-not-fit | check gauge-face is of the pump but needs opening cover-off, which is of the cylinder; which one would it be?`},
		"part too wide":         {"limits: {cap", "parts: {wipers: {title: Wipers, of: pump, reached-by: [cover-off], basis: judgement}}\nlimits: {cap", `does-not-fit | part wipers is of the pump but needs opening cover-off, which is of the cylinder; which one would it be?`},
		"part shown elsewhere":  {"limits: {cap", "parts: {wipers: {title: Wipers, of: pump, shown-by: {wiper-leaks: often}, basis: judgement}}\nlimits: {cap", `does-not-fit | wipers belongs to a pump, but wiper-leaks to a cylinder`},
		"part shown by nothing": {"limits: {cap", "parts: {wipers: {title: Wipers, of: cylinder, shown-by: {wiper-leak: often}, basis: judgement}}\nlimits: {cap", `unknown-name | unknown sign "wiper-leak"`},
		"part behind nothing":   {"limits: {cap", "parts: {wipers: {title: Wipers, of: cylinder, reached-by: [cover-of], basis: judgement}}\nlimits: {cap", `unknown-name | unknown opening "cover-of"; expected one of: cover-off; did you mean cover-off?`},
		"opened while running":  {"pump: isolated, opening", "pump: running, opening", `unsafe | gauge-face needs something opened, so it needs pump: isolated; read running`},
		"opened at a desk":      {"pump: isolated, opening", "pump: isolated, place: desk, opening", `unsafe | gauge-face is done at a desk, so it needs pump: any and no safety`},
		"no such place":         {"pump: isolated, opening", "pump: isolated, place: deks, opening", `unknown-name | unknown place "deks"; expected one of: desk; did you mean desk?`},
		"waits for itself":      {"signal: danger, in-full: true", "signal: danger, after: [lock-off], in-full: true", `unsafe | safety lock-off waits for itself`},
		"nothing proves zero":   {"in-full: true, ", "", `unsafe | the isolation needs safety steps, and at least one with in-full: true that proves it`},
		"no guard":              {"for: running", "for: named", `unsafe | no safety step is for: running`},
		"minutes":               {"minutes: 5, do: Gauge.", "minutes: soon, do: Gauge.", `out-of-range | minutes must be a number from 0 to 10000; read "soon"`},
		"unit of a limit":       {"dimension: torque, basis", "dimension: torque, value: 5 psi, basis", `wrong-unit | "5 psi" is a pressure; expected a torque`},
		"name in a condition":   {`present("knock")`, `present("nock")`, `bad-condition | book/a.yaml:37:63: in the condition: present does not know "nock"; expected one of: knock, wiper-leaks; did you mean knock?`},
		"kind in a condition":   {`present("knock")`, `'present("wiper-leaks", "often")'`, `bad-condition | in the condition: present does not know "often"; expected one of: again, first`},
		"unknown in condition":  {`present("knock")`, `presnt("knock")`, `bad-condition | in the condition: unknown name "presnt"; did you mean present?`},
		"units in a condition":  {`present("knock")`, `speed > psi(100)`, `bad-condition | book/a.yaml:37:61: in the condition: > compares a stroke-rate with a pressure`},
		"plain number":          {`present("knock")`, `speed > 100`, `bad-condition | in the condition: > compares a stroke-rate with a plain number; give it a unit`},
		"not a yes or no":       {`present("knock")`, `speed`, `bad-condition | in the condition: this is not a yes or no`},
		"a stop says when":      {"by: at-once", "by: soon", `unknown-name | unknown time of the stop "soon"; expected one of: at-once, next-safe-moment`},
		"behind what":           {"role: root", "role: root\n    behind: own-lin", `unknown-name | unknown what the repair is done behind "own-lin"; expected one of: nothing, own-line, pump; did you mean own-line?`},
		"own line, no steps":    {"role: root", "role: root\n    behind: own-line", `unsafe | the repair of rod-crooked is done behind its own line; name under safety the steps that shut, bleed and prove it`},
		"guard of a repair":     {"role: root", "role: root\n    safety: [lock-off]", `unsafe | the safety step lock-off (for isolation) cannot stand before the repair of rod-crooked; expected one that is for: named`},
		"no role":               {"    role: root\n", "", `missing | book/a.yaml:17:5: rod-crooked has no "role"`},
		"unknown role":          {"role: root", "role: rot", `unknown-name | book/a.yaml:25:11: unknown role "rot"; expected one of: failure, root; did you mean root?`},
		"a stop has its time":   {"by: at-once, ", "", `missing | smoke has no "by"`},
		"loop in a condition":   {`present("knock")`, `'all([1, 2], # > 0)'`, `bad-condition | this is more than a condition may use`},
		"member in condition":   {`present("knock")`, `speed.SI > 3`, `bad-condition | this is more than a condition may use`},
		"text operator":         {`present("knock")`, `'"a" matches "b"'`, `bad-condition | operator matches is not allowed`},
		"broken condition":      {`present("knock")`, `'present("knock") &&'`, `bad-condition | in the condition: unexpected token EOF`},
		"condition too long":    {`present("knock")`, `'` + strings.Repeat("(", 2000) + `'`, `too-large | the condition has 2000 characters; at most 1024 are read`},
	} {
		t.Run(name, func(t *testing.T) {
			require.Contains(t, smallBook, c.old)
			b, err := load(strings.Replace(smallBook, c.old, c.new, 1))
			require.Nil(t, b)
			var input *source.InputError
			require.True(t, errors.As(err, &input), "%v", err)
			mistaken(t, err, c.want)
		})
	}
}

// Of a sign that nobody knows nothing is said of its kinds.
func TestAKindOfAnUnknownSignIsNoMistakeOfItsOwn(t *testing.T) {
	_, err := load(strings.Replace(smallBook, `present("knock")`, `'present("nock", "again")'`, 1))
	var input *source.InputError
	require.ErrorAs(t, err, &input)
	assert.Len(t, input.Problems, 1, "%v", err)
	mistaken(t, err, `bad-condition | in the condition: present does not know "nock"`)
}

func TestAnIdIsDefinedOnce(t *testing.T) {
	_, err := Load(fstest.MapFS{
		"a.yaml": {Data: []byte(smallBook)},
		"b.yaml": {Data: []byte("groups: {alignment: {title: Again, basis: judgement}}\nscale: {}\n")},
	}, "book")
	assert.ErrorContains(t, err, "book/b.yaml:1:10: alignment is also defined at book/a.yaml:9:10")
	assert.ErrorContains(t, err, "book/b.yaml:2:8: scale stands once in a rulebook; also at book/a.yaml:4:3")
}

func TestNoBookIsRefused(t *testing.T) {
	_, err := Load(fstest.MapFS{"readme.txt": {}}, "book")
	assert.ErrorContains(t, err, "book:1:1: a rulebook is 1 to 100 .yaml files; found 0")
}

func TestConditions(t *testing.T) {
	const head = "pump: {action: triplex-single-acting, state: stopped, speed: 95 strokes/min, liner: 6 1/2 in}\nrecent: [valves-changed]\nfindings: {knock: absent, wiper-leaks: {again: [1, 2]}}\n"
	for condition, want := range map[string]bool{
		`action_is("triplex-single-acting")`:                  true,
		`action_is("duplex-double-acting")`:                   false,
		`state_is("stopped") and not state_is("running")`:     true,
		`rotation_is("unknown")`:                              true,
		`recent("valves-changed")`:                            true,
		`present("wiper-leaks")`:                              true,
		`present("wiper-leaks", "again")`:                     true,
		`present("wiper-leaks", "first")`:                     false,
		`everywhere("wiper-leaks")`:                           false,
		`absent("knock")`:                                     true,
		`absent("wiper-leaks")`:                               false,
		`speed > spm(90) && speed < spm(100)`:                 true,
		`liner >= mm(165.1)`:                                  true,
		`liner > inch(6.5)`:                                   false,
		`discharge > psi(1)`:                                  false, // not given
		`not (discharge > psi(1))`:                            false, // not given: the condition does not hold
		`speed > spm(100) || present("wiper-leaks", "again")`: true,
		`(speed > spm(100) or liner > inch(7)) and true`:      false,
		`discharge > bar(10) || state_is("stopped")`:          false, // not given
		`speed >= spm(95) and speed <= spm(95) and not false`: true,
		`stroke < thou(1)`:                                    false, // not given
		`not present("knock") and not everywhere("knock")`:    true,
		`recent("valves-changed") and present("wiper-leaks")`: true,
		`liner > thou(6499) and liner < thou(6501)`:           true,
		`1 < 2 < 3`: true,
		`present("knock") or present("wiper-leaks", "again") `: true,
	} {
		t.Run(condition, func(t *testing.T) {
			text := strings.Replace(smallBook, `when: present("knock")`, "when: '"+strings.ReplaceAll(condition, "'", "''")+"'", 1)
			b, err := load(text)
			require.NoError(t, err, condition)
			k, err := evidence.ParseCase("c.yaml", []byte(head), b.Vocabulary())
			require.NoError(t, err)
			assert.Equal(t, want, b.Stops.List[0].When.Holds(k, b), condition)
		})
	}
}

func TestConditionsThatAreTooPowerfulOrWrongAreRefused(t *testing.T) {
	for _, condition := range []string{
		`action_is("triplex-single-acting") == true or true`,
		`present("wiper-leaks") ? true : false`,
		`let x = 1; x > 0`,
		`[1, 2] == [1, 2]`,
		`len("abc") > 2`,
		`present("knock", "again", "x")`,
		`state_is()`,
		`"x" in ["x"]`,
		`present(present)`,
		`speed > liner`,
		`speed > spm(9) + spm(9)`,
	} {
		text := strings.Replace(smallBook, `when: present("knock")`, "when: '"+strings.ReplaceAll(condition, "'", "''")+"'", 1)
		_, err := load(text)
		assert.ErrorContains(t, err, "book/a.yaml:37:", condition)
	}
}

func TestTheBuiltInBookLoads(t *testing.T) {
	b, err := BuiltIn()
	require.NoError(t, err)
	assert.GreaterOrEqual(t, len(b.Causes.List), 30)
	assert.GreaterOrEqual(t, len(b.Signs.List), 35)
	assert.GreaterOrEqual(t, len(b.Checks.List), 30)
	t.Logf("%d causes, %d signs, %d checks, digest %s", len(b.Causes.List), len(b.Signs.List), len(b.Checks.List), b.Digest)
}

func FuzzLoad(f *testing.F) {
	f.Add([]byte(smallBook))
	f.Add([]byte(bringing(map[string]string{"rod-crooked": to("liner-cut"), "liner-cut": to("oil-foul"), "oil-foul": to("rod-crooked")})))
	f.Add([]byte("causes: {a: {}}\n"))
	f.Add([]byte("signs: {a: {kinds: [x]}}\nscale: {how-common: 3}\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		b, err := Load(fstest.MapFS{"a.yaml": {Data: text}}, "book")
		if (b == nil) != (err != nil) {
			t.Fatal("half a book")
		}
		var input *source.InputError
		if err != nil && !errors.As(err, &input) {
			t.Fatalf("unexpected error %v", err)
		}
	})
}

func FuzzCondition(f *testing.F) {
	for _, seed := range []string{`present("knock")`, `speed > spm(90)`, `not (liner < mm(3))`, `let x = 1..9; all(x, # > 0)`, `"\u0000"`, `speed?.SI`, `present("knock")[0]`} {
		f.Add(seed)
	}
	k := &evidence.Case{Pump: evidence.Pump{Layout: evidence.Layout{Action: evidence.Triplex, Cylinders: []string{"1", "2", "3"}}, State: evidence.Running}}
	f.Fuzz(func(t *testing.T, condition string) {
		text := strings.Replace(smallBook, `when: present("knock")`, "when: '"+strings.ReplaceAll(condition, "'", "''")+"'", 1)
		if b, err := load(text); err == nil && len(b.Stops.List) == 1 {
			b.Stops.List[0].When.Holds(k, b)
		}
	})
}

// mistaken wants one of the mistakes to have a code and a text: want is "code | text".
func mistaken(t *testing.T, err error, want string) {
	t.Helper()
	var input *source.InputError
	require.ErrorAs(t, err, &input)
	code, text, _ := strings.Cut(want, " | ")
	for _, p := range input.Problems {
		if p.Code.String() == code && strings.Contains(p.Error(), text) {
			return
		}
	}
	t.Errorf("%v\nwanted: %s", err, want)
}
