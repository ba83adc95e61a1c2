package rules

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
)

// bringing is the small book with further causes, each with the brings that are
// given for it; rod-crooked has those under its own name.
func bringing(brings map[string]string) string {
	var more strings.Builder
	for _, id := range []string{"box-hot", "liner-cut", "oil-foul", "pin-worn", "tank-empty"} {
		fmt.Fprintf(&more, "  %s: {title: T, group: alignment, role: failure, of: pump, how-common: common, shows: {knock: often, wiper-leaks: {first: 0.3}}, why: x, repair: x, look-again: x, brings: [%s], haste: {wait: watch, because: x, basis: judgement}, basis: judgement}\n", id, brings[id])
	}
	out := strings.Replace(smallBook, "openings:\n", more.String()+"openings:\n", 1)
	return strings.Replace(out, "    role: root\n", "    role: root\n    brings: ["+brings["rod-crooked"]+"]\n", 1)
}

// to is a bring that says no more than it must.
func to(cause string) string { return "{cause: " + cause + ", how-often: often, basis: judgement}" }

func TestEveryMistakeOfABringHasItsPlace(t *testing.T) {
	for name, c := range map[string]struct {
		brings map[string]string
		want   string
	}{
		"unknown cause": {map[string]string{"rod-crooked": to("liner-cutt")}, `unknown-name | book/a.yaml:26:22: unknown cause "liner-cutt"; expected one of: box-hot, liner-cut, oil-foul, pin-worn, rod-crooked, tank-empty; did you mean liner-cut?`},
		"itself":        {map[string]string{"rod-crooked": to("rod-crooked")}, `does-not-fit | book/a.yaml:26:22: these bring each other on in a circle: rod-crooked, then rod-crooked`},
		"a circle": {map[string]string{"rod-crooked": to("liner-cut"), "liner-cut": to("pin-worn"), "pin-worn": to("rod-crooked")},
			`does-not-fit | these bring each other on in a circle: rod-crooked, then liner-cut, then pin-worn, then rod-crooked; what brings what on must come to an end`},
		"a circle under a condition": {map[string]string{"rod-crooked": to("liner-cut"), "liner-cut": `{cause: rod-crooked, how-often: often, when: 'present("knock") and not present("knock")', basis: judgement}`},
			`does-not-fit | these bring each other on in a circle: rod-crooked, then liner-cut, then rod-crooked`},
		"too long a row": {map[string]string{"rod-crooked": to("liner-cut") + ", " + to("box-hot"), "liner-cut": to("oil-foul"), "oil-foul": to("pin-worn"), "pin-worn": to("tank-empty"), "box-hot": to("tank-empty")},
			`too-large | book/a.yaml:32:188: 4 brings follow one another: rod-crooked, then liner-cut, then oil-foul, then pin-worn, then tank-empty; at most 3 may`},
		"never counts":   {map[string]string{"rod-crooked": to("liner-cut") + ", " + to("liner-cut")}, `twice | book/a.yaml:26:78: rod-crooked brings liner-cut on without a condition already, so this never counts`},
		"no chance":      {map[string]string{"rod-crooked": "{cause: liner-cut, basis: judgement}"}, `missing | an item of brings has no "how-often"`},
		"unknown word":   {map[string]string{"rod-crooked": "{cause: liner-cut, how-often: offen, basis: judgement}"}, `unknown-name | book/a.yaml:26:44: unknown how often "offen"; expected one of: often; did you mean often?`},
		"never":          {map[string]string{"rod-crooked": "{cause: liner-cut, how-often: never, basis: judgement}"}, `unknown-name | unknown how often "never"`},
		"no basis":       {map[string]string{"rod-crooked": "{cause: liner-cut, how-often: often}"}, `missing | an item of brings has no "basis"`},
		"no cause":       {map[string]string{"rod-crooked": "{how-often: often, basis: judgement}"}, `missing | an item of brings has no "cause"`},
		"unknown key":    {map[string]string{"rod-crooked": "{cause: liner-cut, how-often: often, show: {knock: often}, basis: judgement}"}, `unknown-key | an item of brings has no key "show"`},
		"unknown sign":   {map[string]string{"rod-crooked": "{cause: liner-cut, how-often: often, shows: {nock: often}, basis: judgement}"}, `unknown-name | unknown sign "nock"`},
		"kinds over one": {map[string]string{"rod-crooked": "{cause: liner-cut, how-often: often, shows: {wiper-leaks: {again: often, first: often}}, basis: judgement}"}, `out-of-range | the kinds of wiper-leaks add up to 1.2`},
		"bad condition":  {map[string]string{"rod-crooked": `{cause: liner-cut, how-often: often, when: present("nock"), basis: judgement}`}, `bad-condition | in the condition: present does not know "nock"`},
		"no list":        {map[string]string{}, ""},
	} {
		t.Run(name, func(t *testing.T) {
			text := bringing(c.brings)
			if c.want == "" {
				text, c.want = strings.Replace(smallBook, "    role: root\n", "    role: root\n    brings: liner-cut\n", 1), `wrong-form | book/a.yaml:26:13: brings must be a list of lines that start with "- "`
			}
			_, err := load(text)
			require.Error(t, err)
			mistaken(t, err, c.want)
		})
	}
}

// What a case takes to weigh grows with the ways in which causes come, so that a
// book with too many is refused: here 22 causes bring 22 on, and those 22 more.
func TestABookWithTooManyWaysIsRefused(t *testing.T) {
	layered := func(wide int) string {
		var more strings.Builder
		for layer := range 3 {
			for n := range wide {
				var brings []string
				for to := range wide {
					if layer < 2 {
						brings = append(brings, fmt.Sprintf("{cause: l%dc%d, how-often: often, basis: judgement}", layer+1, to))
					}
				}
				fmt.Fprintf(&more, "  l%dc%d: {title: T, group: alignment, role: root, of: pump, how-common: common, shows: {knock: often}, why: x, repair: x, look-again: x, brings: [%s], haste: {wait: watch, because: x, basis: judgement}, basis: judgement}\n", layer, n, strings.Join(brings, ", "))
			}
		}
		return strings.Replace(smallBook, "openings:\n", more.String()+"openings:\n", 1)
	}
	_, err := load(layered(22)) // 22^3 rows of two, and twice 22^2 of one
	require.Error(t, err)
	mistaken(t, err, "too-large | book/a.yaml:28:154: on a triplex-single-acting pump what brings what on makes 11616 ways in which causes come, each chain at each place counted; at most 10000 may")
	_, err = load(layered(20))
	require.NoError(t, err)
}

// As many brings in a row as there may be, and two rows that meet.
func TestRowsOfBringsThatMayBe(t *testing.T) {
	b, err := load(bringing(map[string]string{"rod-crooked": to("liner-cut") + ", " + to("box-hot"), "liner-cut": to("oil-foul"), "box-hot": to("oil-foul"), "oil-foul": to("pin-worn")}))
	require.NoError(t, err)
	var by []string
	for _, r := range b.BroughtBy("oil-foul") {
		by = append(by, r.By.ID)
	}
	assert.Equal(t, []string{"box-hot", "liner-cut"}, by)
	remarks := b.Vet()
	told := func(kind string) (out []string) {
		for _, r := range remarks {
			if r.Kind == kind {
				out = append(out, r.Of...)
			}
		}
		return out
	}
	assert.Equal(t, []string{"tank-empty"}, told(Rootless))
	assert.Empty(t, told(Fruitless))
	b, err = load(smallBook)
	require.NoError(t, err)
	remarks = b.Vet()
	assert.Equal(t, []string{"rod-crooked"}, told(Fruitless))
}

// Of several brings of one cause the first whose condition holds counts; its
// signs lie over those of the failure: a kind is replaced, a sign added, one
// taken away.
func TestTheFirstBringThatHoldsCounts(t *testing.T) {
	b, err := load(bringing(map[string]string{"rod-crooked": `{cause: liner-cut, how-often: 0.9, when: present("knock"), shows: {knock: never, wiper-leaks: {again: 0.5}}, basis: judgement}, {cause: liner-cut, how-often: 0.1, basis: judgement}`}))
	require.NoError(t, err)
	root, failure := b.Causes.Get("rod-crooked"), b.Causes.Get("liner-cut")
	for findings, want := range map[string]struct {
		often float64
		links []Link
	}{
		"knock: present": {0.9, []Link{{Sign: "wiper-leaks", Total: 0.5, Kinds: []float64{0.5, 0}}}},
		"knock: absent":  {0.1, []Link{{Sign: "knock", Total: 0.6}, {Sign: "wiper-leaks", Total: 0.3, Kinds: []float64{0, 0.3}}}},
	} {
		k, err := evidence.ParseCase("c.yaml", []byte("pump: {action: triplex-single-acting, state: running}\nfindings: {"+findings+"}\n"), b.Vocabulary())
		require.NoError(t, err)
		brings := root.BringsFor(k, b)
		require.Len(t, brings, 1)
		assert.Equal(t, want.often, brings[0].Often)
		assert.Equal(t, want.links, brings[0].Links(failure, k, b))
	}
}

// A local book adds brings and raises those that are there; its own causes need a
// role, and the role of a built-in one stays.
func TestALocalBookGivesItsOwnBrings(t *testing.T) {
	const own = "rulebook: {name: x, version: '1'}\n"
	local := func(text string) (*Book, error) {
		return LoadOver(fstest.MapFS{"a.yaml": {Data: []byte(own + text)}}, "local")
	}
	b, err := local("causes: {sandy-mud: {brings: [{cause: gauge-faulty, how-often: 0.2, basis: judgement}], basis: judgement}}\n")
	require.NoError(t, err)
	sand := b.Causes.Get("sandy-mud")
	built, err := BuiltIn()
	require.NoError(t, err)
	was := built.Causes.Get("sandy-mud").Brings
	require.Len(t, sand.Brings, len(was)+1)
	assert.Equal(t, was, sand.Brings[:len(was)])
	assert.Equal(t, "gauge-faulty", sand.Brings[len(was)].Cause)
	assert.Contains(t, sand.Title, "changed by the local book")
	assert.True(t, slices.ContainsFunc(b.BroughtBy("gauge-faulty"), func(r Brought) bool { return r.By == sand }))

	b, err = local("causes: {sandy-mud: {brings: [{cause: piston-worn, how-often: 0.6, basis: judgement}], basis: judgement}}\nscale: {shows: {sometimes: 0.0001, often: 0.001}, basis: judgement}\n")
	require.NoError(t, err)
	sand = b.Causes.Get("sandy-mud")
	require.Len(t, sand.Brings, len(was))
	assert.Equal(t, 0.6, sand.Brings[0].Often)
	assert.Equal(t, "common practice, no source; local book: judgement", sand.Brings[0].Basis)
	assert.Equal(t, was[0].Shows, sand.Brings[0].Shows)
	for _, c := range built.Causes.List {
		for i, r := range c.Brings {
			assert.GreaterOrEqual(t, b.Causes.Get(c.ID).Brings[i].Often, r.Often, "%s brings %s on: no scale lowers it", c.ID, r.Cause)
		}
	}

	for brings, want := range map[string]string{
		"[{cause: piston-worn, how-often: rarely, basis: judgement}]":                                                      `not-allowed | local/a.yaml:2:63: a local book cannot change "brings" of sandy-mud: how-often of piston-worn can only be raised; read rarely (0.08), expected 0.2 or more`,
		"[{cause: piston-worn, how-often: never, basis: judgement}]":                                                       `unknown-name | local/a.yaml:2:63: unknown how often "never"`,
		"[{cause: piston-worn, how-often: 0.5, shows: {knock: {irregular: often}}, basis: judgement}]":                     `not-allowed | local/a.yaml:2:68: a local book cannot change "brings" of sandy-mud: it brings piston-worn on already, and "shows" of that stays; expected how-often alone, and its basis`,
		"[{cause: piston-worn, how-often: 0.5}]":                                                                           `not-allowed | local/a.yaml:2:31: a local book cannot change "brings" of sandy-mud: it brings piston-worn on already; expected how-often, and its basis`,
		"[{cause: piston-worn, how-often: 0.5, basis: judgement}, {cause: piston-worn, how-often: 0.4, basis: judgement}]": `not-allowed | local/a.yaml:2:87: a local book cannot change "brings" of sandy-mud: this gives piston-worn a second how-often; expected one`,
		"[{cause: piston-worn, how-often: 0.001, when: 'present(\"sand-high\")', basis: judgement}]":                       `twice | local/a.yaml:2:39: sandy-mud brings piston-worn on without a condition already, so this never counts`,
		"[]": `not-allowed | local/a.yaml:2:30: a local book cannot change "brings" of sandy-mud: nothing can be taken from it; expected a list of what comes to it`,
	} {
		_, err = local("causes: {sandy-mud: {brings: " + brings + ", basis: judgement}}\n")
		require.Error(t, err, brings)
		mistaken(t, err, want)
	}

	_, err = local("causes: {sandy-mud: {role: failure, basis: judgement}}\n")
	require.Error(t, err)
	mistaken(t, err, `not-allowed | local/a.yaml:2:28: a local book cannot change "role" of sandy-mud`)
	_, err = local("causes: {gauge-faulty: {brings: [{cause: dampener-charge-wrong, how-often: often, basis: judgement}], basis: judgement}}\n")
	require.Error(t, err)
	mistaken(t, err, `does-not-fit | local/a.yaml:2:42: these bring each other on in a circle: dampener-charge-wrong, then gauge-faulty, then dampener-charge-wrong`)
	_, err = local("causes: {ours: {title: Ours, group: drive, of: pump, how-common: rare, shows: {knock: {irregular: often}}, why: x, repair: x, look-again: x, haste: {wait: watch, because: x, basis: judgement}, basis: judgement}}\n")
	require.Error(t, err)
	mistaken(t, err, `missing | ours has no "role"`)
}

// A cause that a kind of pump cannot have is brought on by nothing there.
func TestBringsOfAPump(t *testing.T) {
	b, err := BuiltIn()
	require.NoError(t, err)
	guide := b.Causes.Get("guide-and-crosshead-worn")
	ids := func(a evidence.Action) (out []string) {
		for _, r := range guide.BringsFor(BareCase(a), b) {
			out = append(out, r.Cause)
		}
		return out
	}
	assert.NotContains(t, ids(evidence.Triplex), "packing-worn-out")
	assert.Contains(t, ids(evidence.Duplex), "packing-worn-out")
	assert.Contains(t, ids(evidence.Triplex), "wiper-worn-out")
}
