package rules

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
	"telltale/evidence/source"
)

func over(text string) (*Book, error) {
	return LoadOver(fstest.MapFS{"local.yaml": {Data: []byte("rulebook: {name: stranger, version: '1'}\n" + text)}}, "local")
}

// builtInLayer reads the entries of the built-in book once.
var builtInLayer = sync.OnceValue(func() *layer {
	l := newLoader()
	out, _ := l.readLayer(BuiltInFiles(), BuiltInDir)
	return out
})

// refusedIn gives what the laying over alone refuses of a local text, without
// reading the whole book each time.
func refusedIn(text string) error {
	l := newLoader()
	base := *builtInLayer()
	base.sections = map[string][]entry{}
	for section, entries := range builtInLayer().sections {
		base.sections[section] = slices.Clone(entries)
	}
	local, _ := l.readLayer(fstest.MapFS{"local.yaml": {Data: []byte("rulebook: {name: stranger, version: '1'}\n" + text)}}, "local")
	if local != nil {
		l.overlay(&base, local)
	}
	return l.problems.Err()
}

// keysAsked gives, for each section of the built-in book, the keys that its
// entries can have.
func keysAsked(t *testing.T) map[string]map[string]bool {
	out := map[string]map[string]bool{}
	l := newLoader()
	var one sync.Mutex
	l.asked = func(section string, keys []string) {
		one.Lock()
		defer one.Unlock()
		if out[section] == nil {
			out[section] = map[string]bool{}
		}
		for _, key := range keys {
			out[section][key] = true
		}
	}
	layer, _ := l.readLayer(BuiltInFiles(), BuiltInDir)
	require.NotNil(t, layer)
	l.layer = *layer
	_, err := l.finish()
	require.NoError(t, err)
	return out
}

// Every key of every section is classified: whoever adds one says in
// protect.go what a local book may do with it.
func TestEveryKeyOfABookIsClassified(t *testing.T) {
	asked := keysAsked(t)
	for _, section := range slices.Concat(tableSections, singleSections) {
		if section == "rulebook" || section == "accepted" { // the header, and remarks of the keeper
			continue
		}
		p, known := protections[section]
		if !assert.True(t, known, "section %s: say in protections (rules/protect.go) what a local book may do with its keys", section) {
			continue
		}
		require.NotEmpty(t, asked[section], "section %s is closed with l.close, so that its keys are known here", section)
		for _, key := range slices.Sorted(maps.Keys(asked[section])) {
			assert.NotNil(t, p.keys[key], "section %s: say in protections (rules/protect.go) what a local book may do with %q", section, key)
		}
		for key := range p.keys {
			assert.True(t, asked[section][key], "section %s has no key %q", section, key)
		}
	}
}

// What nobody classified stays as it is.
func TestAnUnknownKeyIsFixed(t *testing.T) {
	value := &source.Node{Kind: source.Scalar, Text: "x"}
	_, refused := protections["stops"].of("not-yet-there", &source.Node{Kind: source.Mapping})(nil, value)
	require.NotNil(t, refused)
}

// A key that no entry of its section has is called unknown; nobody is told that
// it stays as it is.
func TestAKeyThatNoEntryHasIsUnknown(t *testing.T) {
	for section, ids := range map[string]string{"checks": "well-check", "safety": "prove-zero", "stops": "smoke-seen"} {
		_, err := over(section + ":\n  " + ids + ": {minutos: 3, basis: judgement}\n")
		assert.ErrorContains(t, err, ids+" has no key \"minutos\"")
		assert.NotContains(t, err.Error(), "stays as the built-in")
	}
}

// A value of a key in every way that YAML has to write it, and what takes it
// away.
func spellings(key, value string) []string {
	escaped := fmt.Sprintf(`"\x%02x%s"`, key[0], key[1:])
	return []string{
		key + ": " + value, `"` + key + `": ` + value, "'" + key + "': " + value, escaped + ": " + value, "? " + key + "\n    : " + value,
	}
}

var nothings = []string{"~", "null", "", "[]", "{}", `""`}

// What is done to the built-in entries that guard somebody is refused, in every
// spelling and with its place.
func TestALocalBookTakesNoGuardAway(t *testing.T) {
	tried := 0
	for section, entries := range map[string]map[string]map[string][]string{
		"stops": {
			"smoke-seen": {
				"stop-pump": {"false", "no", "0"}, "power-off": {"false"}, "signal": {"caution", "danger"}, "title": {"Nothing to see"},
				"do": {"[Carry on.]", "Carry on."}, "by": {"next-safe-moment"}, "when": {"[]", "{x: y}"},
				"standing": {"Carry on."}, "leave-pump": {"true"},
			},
			"weep-hole-under-pressure": {"standing": {"Carry on."}},
			"well-control-first":       {"leave-pump": {"false"}},
			"bleed-keeps-dribbling":    {"open-nothing": {"false"}, "when": {"[]"}},
			"body-cracked":             {"out-of-service": {"false"}},
		},
		"safety": {
			"lock-power": {
				"title": {"Leave the power on"}, "do": {"Leave the breaker closed."}, "for": {"named", "isolation"}, "signal": {"caution"},
				"after": {"[]", "[prove-zero]", "stop-pump"}, "minutes": {"0"}, "when": {`state_is("stopped") and state_is("running")`}, "hands": {"1"},
				"taken-over": {"{title: Go on, minutes: 0, do: Go on.}"},
			},
			"prove-zero": {"reports": {"[knock]"}},
			"try-start":  {"again": {"false"}, "hands": {"1"}},
			"stop-pump":  {"skip-on-stop": {"true"}},
			"agree-stop": {"skip-on-stop": {"false"}},
		},
		"return": {
			"tools-out":    {"when": {"false"}, "before": {"[box-open]"}, "opened": {"[box-open]"}, "minutes": {"0"}, "do": {"Skip this."}},
			"locks-off":    {"title": {"Locks off by anybody"}, "when": {`recent("mud-changed")`}},
			"locking-wire": {"opened": {"[discharge-strainer-open]"}, "before": {"[]"}, "picture": {"valve-pot"}},
		},
		"openings": {
			"liner-out":           {"safety": {"{}"}, "needs": {"{}"}, "when": {"false"}, "of": {"pump"}, "close": {"{title: x, minutes: 1, do: x}"}, "picture": {"valve-pot"}},
			"crankcase-cover-off": {"hands": {"0.5"}},
		},
		"checks": {
			"crank-end-look": {"pump": {"running", "live", "stopped", "any", "not-isolated", "[isolated]"}, "openings": {"{}"}, "safety": {"{}"}, "after": {"{}"}, "when": {"false"}, "answers": {"[knock]"}},
			"rod-in-bore":    {"closed": {"{}"}, "picture": {"round-rod"}},
			"leak-look":      {"place": {"desk"}},
			"well-check":     {"pump": {"isolated"}, "after": {"[crank-end-look]"}, "closed": {"[box-open]"}, "safety": {"[lift-heavy-parts]"}, "first-when": {"false"}, "openings": {"[box-open]"}},
		},
		"signs": {
			"pit-gain": {"when": {`action_is("duplex-double-acting")`}, "of": {"cylinder"}, "kinds": {"{a: b}"}, "follows": {"[knock]"}, "reckoned": {"true"}, "pump": {"isolated"}, "openings": {"[box-open]"}},
			"smoke":    {"when": {"false"}},
		},
		"causes": {
			"kick":         {"of": {"cylinder"}, "when": {"false"}},
			"sandy-mud":    {"brings": {"{cause: piston-worn}", "piston-worn", "[{cause: piston-worn, how-often: 0.001, basis: judgement}]", "[{cause: piston-worn, how-often: 0.99, shows: {}, basis: judgement}]"}},
			"piston-worn":  {"behind": {"nothing", "own-line"}},
			"gauge-faulty": {"behind": {"nothing", "pump"}, "safety": {"{}"}},
		},
		"limits": {
			"relief-setting":        {"value": {"20000 psi"}, "dimension": {"length"}},
			"rod-clamp-torque":      {"value": {"1 ft lbf"}},
			"guide-clearance-least": {"value": {"0.001 in"}},
		},
		"thresholds": {"rod-measured-low": {"above": {"1 in"}, "shows": {"rod-worn"}, "when": {"false"}, "of": {"rod-high-by"}}},
		"procedures": {"shims-at-a-guide": {"steps": {"[{title: In, do: Push it in.}]"}, "title": {"Quick shims"}}},
		"gauges":     {"pliers-and-clamp": {"resolves": {"0.1 thou"}, "checks": {"[guide-clearance]"}}},
		"parts":      {"piston": {"often": {"knock"}, "times": {"100"}, "of": {"pump"}}},
		"told":       {"driller": {"opened": {"[box-open]"}, "when": {"false"}}},
	} {
		t.Run(section, func(t *testing.T) {
			for id, keys := range entries {
				for key, values := range keys {
					for _, value := range slices.Concat(values, nothings) {
						for _, spelled := range spellings(key, value) {
							text := section + ":\n  " + id + ":\n    basis: judgement\n    " + spelled + "\n"
							err := refusedIn(text)
							if err == nil { // then when it is read
								_, err = over(text)
							}
							require.ErrorContains(t, err, "local/local.yaml:", "%s %s %s", section, id, spelled)
							assert.Regexp(t, `local.yaml:[56]:\d+: .*`+key, err.Error())
							tried++
						}
					}
				}
			}
		})
	}
	t.Logf("%d ways were tried", tried)
}

// An entry in place of a mapping is no way round.
func TestAnEntryThatIsNoMappingIsRefused(t *testing.T) {
	for _, value := range []string{"~", "null", "[]", "false", "well-control-first", `""`} {
		for _, id := range []string{"stops: {well-control-first", "safety: {lock-power", "return: {tools-out", "checks: {well-check", "openings: {liner-out"} {
			assert.ErrorContains(t, refusedIn(id+": "+value+"}\n"), "local/local.yaml:2:", "%s: %s", id, value)
		}
	}
}

// An opening of which nobody is told, or before whose closing nothing is done,
// is worth a second look; one that lies behind another is not. What comes before
// each opening of the built-in book is closed comes before a local one too.
func TestAnOpeningThatIsForgottenIsRemarked(t *testing.T) {
	unminded := func(b *Book, err error) (out []string) {
		require.NoError(t, err)
		for _, r := range b.Vet() {
			if r.Kind == Unminded {
				out = append(out, r.Message)
			}
		}
		return out
	}
	assert.Equal(t, []string{
		"no return step has the opening cover-off under before: it is closed with nothing looked at before",
		"nobody under told has the opening cover-off under opened",
	}, unminded(load(smallBook)))

	local := `
openings:
  lid-off: {title: Take the lid off, of: cylinder, minutes: 5, do: Off., close: {title: Put the lid on, minutes: 5, do: On.}, basis: judgement}
  tray-out: {title: Take the tray out, of: cylinder, needs: [lid-off], minutes: 5, do: Out., close: {title: Put the tray in, minutes: 5, do: In.}, basis: judgement}
`
	assert.Equal(t, []string{"nobody under told has the opening lid-off under opened"}, unminded(over(local)), "and none of the built-in book")
	minded, err := over(local)
	require.NoError(t, err)
	assert.Contains(t, minded.Returns.Get("tools-out").Before, "lid-off", "the tools are counted before it is closed too")
	assert.NotContains(t, minded.Returns.Get("tools-out").Before, "tray-out", "it is behind the lid")
	assert.NotContains(t, minded.Returns.Get("barred-over").Before, "lid-off", "not every opening waits for the bar")
	assert.Empty(t, unminded(over(local+"told: {mate: {title: Mate, of: That the lid is off., opened: [lid-off], basis: judgement}}\n")))
}

// A check whose opening was lost from the book no longer opens what hides the
// sign that it answers.
func TestACheckThatDoesNotOpenIsRemarked(t *testing.T) {
	unopened := func(b *Book) (out []string) {
		for _, r := range b.Vet() {
			if r.Kind == Unopened && r.Accepted == "" {
				out = append(out, r.Message)
			}
		}
		return out
	}
	b, err := BuiltIn()
	require.NoError(t, err)
	require.Empty(t, unopened(b))
	b.Checks.Get("face-feeler").Openings = nil
	assert.Equal(t, []string{
		"the check face-feeler answers the sign flange-gap, which lies behind crosshead-cover-off, and does not open it",
		"the check face-feeler answers the sign cap-screws-loose, which lies behind crosshead-cover-off, and does not open it",
	}, unopened(b))
}

// What makes the work safer, weighs otherwise or says more is taken, and shows
// where it comes from.
func TestWhatALocalBookMayAdd(t *testing.T) {
	base, err := BuiltIn()
	require.NoError(t, err)
	b, err := over(`
stops:
  smoke-seen: {when: present("squeal"), open-nothing: true, basis: judgement}
  rig-stop: {title: Crane over the pump, signal: danger, by: at-once, when: present("knock"), do: [Stand back.], basis: judgement}
safety:
  gas-test: {title: Test for gas, for: isolation, signal: danger, after: [bleed-pressure], minutes: 2, do: Test., basis: judgement}
  tell-mate: {title: Tell the mate, for: stopping, skip-on-stop: true, signal: warning, minutes: 1, do: Tell., basis: judgement}
  gloves: {title: Gloves on, for: named, signal: caution, minutes: 1, do: Put them on., basis: judgement}
openings:
  liner-out: {safety: gloves, hands: 4, tools: [our puller], do: Ours is left-handed., minutes: 99, basis: judgement}
checks:
  crank-end-look:
    safety: [gloves]
    results: [{if: Blue metal, then: Call the engineer., points-to: [], clears: []}]
    do: Our crank is a short one.
    finds: {main-bearing-worn: seldom}
    basis: judgement
  leak-look: {pump: isolated, basis: judgement}
causes:
  piston-worn: {how-common: rare, repair: Ours takes two., title: Ours are soft, basis: judgement}
signs:
  rig-sign: {title: Paint blistered, ask: "Is the paint blistered?", of: pump, pump: any, basis: judgement}
return:
  greased: {title: Grease the pins, do: Grease., minutes: 3, basis: judgement}
limits:
  our-pin: {title: Our pin, dimension: torque, value: 5 ft lbf, basis: judgement}
planning: {least-gain: 0.01, basis: judgement}
`)
	require.NoError(t, err)

	smoke := b.Stops.Get("smoke-seen")
	assert.True(t, smoke.OpenNothing && smoke.StopPump && smoke.PowerOff)
	assert.Equal(t, base.Stops.Get("smoke-seen").When.Source, smoke.When.Source)
	assert.Equal(t, `present("squeal")`, smoke.When.Or.Source)
	assert.Equal(t, base.Stops.Get("smoke-seen").Title+" (changed by the local book)", smoke.Title)
	own := b.Stops.Get("rig-stop")
	assert.True(t, own.FromLocal)
	assert.Equal(t, []string{"Local book: Stand back."}, own.Do)
	assert.Equal(t, "Crane over the pump (local book)", own.Title)

	for _, proof := range []string{"prove-zero", "try-start", "block-movement"} {
		assert.Contains(t, b.Safety.Get(proof).After, "gas-test", "a new step of the isolation stands before %s", proof)
		assert.False(t, b.Safety.Get(proof).FromLocal)
	}
	assert.Contains(t, b.Safety.Get("stop-pump").After, "tell-mate")

	liner, baseLiner := b.Openings.Get("liner-out"), base.Openings.Get("liner-out")
	assert.Equal(t, append(slices.Clone(baseLiner.Safety), "gloves"), liner.Safety)
	assert.Equal(t, 4, liner.Hands)
	assert.Equal(t, baseLiner.Do+" Local book: Ours is left-handed.", liner.Do)
	assert.Contains(t, liner.Tools, "Local book: our puller")
	assert.True(t, liner.FromLocal)

	crank, baseCrank := b.Checks.Get("crank-end-look"), base.Checks.Get("crank-end-look")
	assert.Equal(t, append(slices.Clone(baseCrank.Safety), "gloves"), crank.Safety)
	assert.Equal(t, baseCrank.Results, crank.Results[:len(baseCrank.Results)])
	assert.Equal(t, "Local book: Blue metal", crank.Results[len(baseCrank.Results)].If)
	assert.GreaterOrEqual(t, len(crank.Finds), len(baseCrank.Finds))
	assert.Equal(t, NeedsIsolated, b.Checks.Get("leak-look").Pump)
	assert.Equal(t, base.Checks.Get("leak-look").Title+" (changed by the local book)", b.Checks.Get("leak-look").Title)

	worn := b.Causes.Get("piston-worn")
	assert.Equal(t, 0.003, worn.Common)
	assert.Equal(t, base.Causes.Get("piston-worn").Repair+" Local book: Ours takes two.", worn.Repair)
	assert.Equal(t, base.Causes.Get("piston-worn").Basis+"; local book: judgement", worn.Basis)
	assert.Equal(t, "Local book: Is the paint blistered?", b.Signs.Get("rig-sign").Ask)

	var order []string
	for _, r := range b.Returns.List {
		order = append(order, r.ID)
	}
	at := slices.Index(order, "greased")
	assert.Equal(t, "tools-out", order[at-1], "a new return step stands where all is closed")
	assert.Equal(t, "covers-on", order[at+1], "and the locks are still on")
	assert.Equal(t, 0.01, b.LeastGain)
}

// New entries of a local book that would undo what stands already.
func TestWhatANewEntryCannotDo(t *testing.T) {
	const step = "signal: danger, minutes: 1, do: x, basis: judgement}\n"
	for name, c := range map[string]struct{ text, want string }{
		"the locks off again after the proof": {"safety:\n  locks: {title: Take every lock off again, for: isolation, after: [block-movement], " + step,
			"local/local.yaml:3:69: locks cannot come after block-movement, which ends the stop or proves the isolation"},
		"round another new step": {"safety:\n  a: {title: A, for: isolation, after: [b], " + step + "  b: {title: B, for: isolation, after: prove-zero, " + step,
			"b cannot come after prove-zero"},
		"running again after the stop": {"safety:\n  again: {title: Run it again, for: stopping, skip-on-stop: true, after: [stop-pump], " + step,
			"again cannot come after stop-pump"},
		"a stop that waits": {"safety:\n  ask: {title: Ask the office, for: stopping, " + step, "local/local.yaml:3:3: ask would hold up a stop"},
		"opened though it must be shut": {"openings:\n  crosshead-cover-off: {needs: [cylinder-open, liner-out], basis: judgement}\n",
			"local/local.yaml:3:3: check rod-in-bore wants rod-parted closed"},
		"a check before the well":      {"checks:\n  ours: {title: Ours, of: pump, pump: running, minutes: 1, do: x, finds: {}, results: [], first-when: 'true', basis: judgement}\n", `cannot have "first-when"`},
		"a desk beside the pump":       {"checks:\n  ours: {title: Ours, of: pump, pump: any, place: desk, minutes: 1, do: x, finds: {}, results: [], basis: judgement}\n", `cannot have "place"`},
		"a repair behind nothing":      {"causes:\n  ours: {title: Ours, group: drive, role: root, of: pump, how-common: rare, shows: {knock: {irregular: often}}, why: x, repair: x, look-again: x, behind: nothing, haste: {wait: watch, because: x, basis: judgement}, basis: judgement}\n", `ours is an entry of a local book and cannot have "behind": its repair is done behind the isolation of the pump`},
		"a return step among the open": {"return:\n  ours: {title: Ours, do: x, minutes: 1, before: [rod-parted], basis: judgement}\n", `local/local.yaml:3:42: ours is an entry of a local book and cannot have "before"`},
		"a reading that the pits are steady": {"thresholds:\n  ours: {title: Ours, of: output-loss, above: 0.99, shows: {smoke: power-end}, basis: judgement}\n",
			"ours is an entry of a local book and cannot speak of smoke, on which the stop "},
		"an opened check on a running pump": {"checks:\n  ours: {title: Ours, of: pump, pump: running, openings: [crankcase-cover-off], minutes: 1, do: x, finds: {}, results: [], basis: judgement}\n", "so it needs pump: isolated"},
		"power on, and nothing that guards it": {"checks:\n  turn: {title: Look in, of: cylinder, pump: live, minutes: 1, do: Look., finds: {}, results: [], basis: judgement}\n",
			"local/local.yaml:3:3: the check turn is done with power or charge pressure on; name under safety the steps that guard it; read none"},
		"a stop that leaves the pump": {"stops:\n  carry-on: {title: All is well, signal: caution, by: at-once, when: present(\"wiper-leaks\"), do: [Carry on.], leave-pump: true, basis: judgement}\n",
			`local/local.yaml:3:111: carry-on is an entry of a local book and cannot have "leave-pump": it would take away the steps that another stop demands`},
		"hands at a guide that runs": {"checks:\n  feel: {title: Feel the guide, of: cylinder, pump: running, minutes: 1, do: Reach in., finds: {}, results: [], answers: [guide-wear], basis: judgement}\n",
			"local/local.yaml:3:3: the check feel answers the sign guide-wear, which lies behind crosshead-cover-off, and does not open it; expected it under openings, with pump: isolated; read pump: running"},
		"a look through a cover": {"checks:\n  look: {title: Look at the guide, of: cylinder, pump: isolated, openings: [cylinder-open], minutes: 1, do: Look., finds: {}, results: [], answers: [guide-wear], basis: judgement}\naccepted: [{remark: unopened, of: [look, guide-wear], because: We know the way round it.}]\n",
			"local/local.yaml:3:3: the check look answers the sign guide-wear, which lies behind crosshead-cover-off"},
		"a gas gauge on a pump that only stands": {"checks:\n  gas: {title: Ours, of: pump, pump: stopped, minutes: 1, do: Look., finds: {}, results: [], answers: [dampener-gas], basis: judgement}\n",
			"local/local.yaml:3:3: the check gas answers the sign dampener-gas, which needs pump: isolated; expected that; read stopped"},
		"oil drawn from a pump that may run": {"checks:\n  oil: {title: Ours, of: pump, pump: any, minutes: 1, do: Look., finds: {}, results: [], answers: [oil-milky], basis: judgement}\n",
			"local/local.yaml:3:3: the check oil answers the sign oil-milky, which needs pump: stopped; expected that; read any"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := over(c.text)
			assert.ErrorContains(t, err, c.want, name)
		})
	}
}

// The built-in book guards each check with power on, as it asks of a local one.
func TestEveryLiveCheckIsGuarded(t *testing.T) {
	b, err := BuiltIn()
	require.NoError(t, err)
	for _, c := range b.Checks.List {
		assert.False(t, c.Pump == NeedsLive && len(c.Safety) == 0, c.ID)
	}
	_, err = over("checks:\n  turn: {title: Look in, of: cylinder, pump: live, safety: [bump-clear], minutes: 1, do: Look., finds: {}, results: [], basis: judgement}\n")
	assert.NoError(t, err)
}

// A condition beside a stop's own widens it even where it asks for a figure that
// the case does not give.
func TestAWiderStopDoesNotHangOnAFigure(t *testing.T) {
	b, err := over("stops:\n  smoke-seen: {when: discharge > psi(4000), basis: judgement}\n")
	require.NoError(t, err)
	when := b.Stops.Get("smoke-seen").When
	for text, want := range map[string][2]bool{
		"pump: {action: triplex-single-acting, state: running}\nfindings: {smoke: present}\n":                     {true, true},
		"pump: {action: triplex-single-acting, state: running, discharge: 4100 psi}\n":                            {true, false},
		"pump: {action: triplex-single-acting, state: running, discharge: 3900 psi}\n":                            {false, false},
		"pump: {action: triplex-single-acting, state: running, discharge: 1 psi}\nfindings: {smoke: present}\n":   {true, true},
		"pump: {action: triplex-single-acting, state: running}\n":                                                 {false, false},
		"pump: {action: triplex-single-acting, state: running, discharge: 4100 psi}\nfindings: {smoke: absent}\n": {true, false},
	} {
		t.Run(text, func(t *testing.T) {
			k, err := evidence.ParseCase("case.yaml", []byte(text), b.Vocabulary())
			require.NoError(t, err)
			assert.Equal(t, want, [2]bool{when.Holds(k, b), when.HoldsAlone(k, b)}, strings.TrimSpace(text))
		})
	}
}

// What the built-in stop conditions end is written out here a second time, so
// that a line lost from one of them is seen (common practice, no source).
func TestWhatTheBuiltInStopsEnd(t *testing.T) {
	b, err := BuiltIn()
	require.NoError(t, err)
	runsOn := []string{"well-control-first", "gas-leave", "ask-the-well-first", "over-power", "over-speed", "charge-pressure-short"}
	powerOff := []string{
		"cover-turned-back", "pump-out-of-control", "crankshaft-cracked-proved", "broken-rod", "smoke-seen", "oil-mud-spray", "body-cracked",
		"stopped-hard", "dampener-mud-at-valve", "cover-leak-under-pressure", "weep-hole-under-pressure", "drive-hub-shakes", "bearing-fails",
		"crosshead-smokes", "nothing-limits-pressure", "bleed-keeps-dribbling",
	}
	for _, s := range b.Stops.List {
		assert.True(t, s.StopPump || slices.Contains(runsOn, s.ID), "%s does not stop the pump", s.ID)
	}
	for _, id := range powerOff {
		s := b.Stops.Get(id)
		require.NotNil(t, s, id)
		assert.True(t, s.PowerOff, "%s leaves the power on", id)
	}
	assert.True(t, b.Stops.Get("well-control-first").LeavePump)
	assert.True(t, b.Stops.Get("bleed-keeps-dribbling").OpenNothing)
	for _, id := range []string{"crankshaft-cracked-proved", "body-cracked", "nothing-limits-pressure", "over-relief-setting", "relief-set-too-high"} {
		assert.True(t, b.Stops.Get(id).OutOfService, "%s lets the pump run again", id)
	}
}

// A local book has more roots looked at, never fewer; the lower figure follows
// the other one down.
func TestALocalBookOnlyLowersFromWhenARootIsLookedAt(t *testing.T) {
	for _, key := range []string{"root-from", "root-from-urgent"} {
		_, err := over("planning: {" + key + ": 0.2, basis: judgement}\n")
		assert.ErrorContains(t, err, `a local book cannot change "`+key+`" of planning: it can only be lowered`)
	}
	b, err := over("planning: {root-from: 0.005, basis: judgement}\n")
	require.NoError(t, err)
	assert.Equal(t, []float64{0.005, 0.005}, []float64{b.RootFrom, b.RootFromUrgent})
}

// No local book makes what a crew says of a danger vanish: it adds no words to those
// that carry no meaning, deny or are a guess.
func TestALocalBookTakesNoWordAway(t *testing.T) {
	for _, text := range []string{"filler: {words: [smoke], basis: judgement}", "hush: {as: not, words: [smoke], basis: judgement}", "fine: {as: well, words: [smoke], basis: judgement}", "maybe: {as: guess, words: [smoke], basis: judgement}"} {
		_, err := over("same-words:\n  " + text + "\n")
		assert.ErrorContains(t, err, "must not vanish", text)
	}
	_, err := over("same-words:\n  wiper: {words: [slobber ring], basis: judgement}\n")
	assert.NoError(t, err)
}
