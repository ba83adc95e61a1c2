package rules

import (
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
)

// withRule is smallBook with a condition under which its cause is more urgent.
var withRule = strings.Replace(smallBook, "    basis: common practice", `    haste-when:
      - {when: present("wiper-leaks"), wait: stop-now, because: It breaks now., basis: judgement}
    basis: common practice`, 1)

func TestAHasteHasItsGroundAndItsWord(t *testing.T) {
	const rule = "haste: {wait: next-connection, because: It breaks., basis: judgement}"
	for name, c := range map[string]struct{ old, new, want string }{
		"none":               {"    " + rule + "\n", "", `rod-crooked has no "haste"`},
		"no ground":          {rule, "haste: {wait: watch, because: It breaks.}", `haste has no "basis"`},
		"no reason":          {rule, "haste: {wait: watch, basis: judgement}", `haste has no "because"`},
		"word":               {rule, "haste: {wait: stop, because: x, basis: judgement}", "expected one of: next-connection, planned-stop, stop-now, watch"},
		"no sooner":          {"wait: stop-now, because: It breaks now.", "wait: next-connection, because: x", "a condition may only make a cause more urgent"},
		"section":            {"nothing-seen: Nothing., ", "", `haste has no "nothing-seen"`},
		"graver needs more":  {"from: 0.15", "from: 0.5", "stop-now is given from a greater chance than next-connection"},
		"watch has no bound": {"watch: {title", "watch: {from: 0.1, title", `watch has no key "from"`},
	} {
		t.Run(name, func(t *testing.T) {
			require.Contains(t, withRule, c.old)
			_, err := load(strings.Replace(withRule, c.old, c.new, 1))
			assert.ErrorContains(t, err, c.want)
		})
	}
}

// A hot crosshead makes the fault of its own cylinder urgent, not that of its
// sister.
func TestAConditionCountsAtItsPlace(t *testing.T) {
	b, err := load(withRule)
	require.NoError(t, err)
	k, err := evidence.ParseCase("c.yaml", []byte("pump: {action: triplex-single-acting, state: running}\nfindings: {wiper-leaks: {2: again}}\n"), b.Vocabulary())
	require.NoError(t, err)
	c := b.Causes.Get("rod-crooked")
	assert.Equal(t, StopNow, c.HasteAt(evidence.Place{Cylinder: "2"}, k, b).Wait)
	assert.Equal(t, NextConnection, c.HasteAt(evidence.Place{Cylinder: "1"}, k, b).Wait)
	assert.Equal(t, StopNow, c.HasteAt(evidence.Place{}, k, b).Wait)
}

func TestALocalBookMayOnlyHurryMore(t *testing.T) {
	const header = "rulebook: {name: rig, version: '1'}\n"
	over := func(text string) (*Book, error) {
		return LoadOver(fstest.MapFS{"a.yaml": {Data: []byte(header + text)}}, "local")
	}
	for name, c := range map[string]struct{ text, want string }{
		"longer":      {"causes: {crank-bearing-worn: {haste: {wait: watch, because: x, basis: judgement}, basis: judgement}}", `local/a.yaml:2:38: a local book cannot change "haste" of crank-bearing-worn: the built-in book says wait: stop-now`},
		"same":        {"causes: {piston-worn: {haste: {wait: next-connection, because: x, basis: judgement}, basis: judgement}}", "only a more urgent wait may stand over it; expected one of: stop-now"},
		"emptied":     {"causes: {piston-worn: {haste: , basis: judgement}}", `"haste" of piston-worn is empty`},
		"no rules":    {"causes: {oil-low: {haste-when: , basis: judgement}}", `"haste-when" of oil-low is empty`},
		"thresholds":  {"haste: {stop-now: {from: 0.9, running: x, standing: x}, basis: judgement}", `a local book cannot change "stop-now" of haste`},
		"new without": {"causes: {new-one: {title: N, group: drive, role: root, of: pump, how-common: rare, shows: {knock: {irregular: often}}, why: x, repair: x, look-again: x, basis: judgement}}", `new-one has no "haste"`},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := over(c.text)
			assert.ErrorContains(t, err, c.want)
		})
	}
	b, err := over("causes:\n  oil-low:\n    haste-when: [{when: present(\"rumble\"), wait: stop-now, because: x, basis: judgement}]\n    basis: judgement\n" +
		"  piston-worn: {haste: {wait: stop-now, because: x, basis: judgement}, basis: judgement}\n")
	require.NoError(t, err)
	assert.Len(t, b.Causes.Get("oil-low").HasteWhen, 2)
	assert.Equal(t, StopNow, b.Causes.Get("piston-worn").Haste.Wait)
	assert.Equal(t, "Local book: x", b.Causes.Get("piston-worn").Haste.Because)
}
