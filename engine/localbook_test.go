package engine

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"telltale/engine/chances"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

// builtInCaseText draws a case in the words of the built-in book, with signs
// that stops rest on among the others.
func builtInCaseText(t *rapid.T, book *rules.Book) string {
	action := rapid.SampledFrom(evidence.Actions()).Draw(t, "action")
	pump := &rules.BareCase(evidence.Action(action)).Pump
	state := rapid.SampledFrom(evidence.PumpStates()).Draw(t, "state")
	var b strings.Builder
	fmt.Fprintf(&b, "pump: {action: %s, state: %s", action, state)
	if rapid.Bool().Draw(t, "pressure") {
		b.WriteString(", discharge: 2500 psi")
	}
	b.WriteString("}\n")
	if rapid.Bool().Draw(t, "recent") {
		fmt.Fprintf(&b, "recent: [%s]\n", rapid.SampledFrom(book.Works.IDs()).Draw(t, "work"))
	}
	var ids []string
	for _, s := range book.Signs.List {
		if s.When.HoldsForPump(pump) {
			ids = append(ids, s.ID)
		}
	}
	stopping := slices.DeleteFunc([]string{"pit-gain", "smoke", "rod-broken", "relief-popped", "knock", "mud-airy", "body-wet-line", "pressure-low"}, func(id string) bool { return !slices.Contains(ids, id) })
	seen := rapid.SliceOfNDistinct(rapid.OneOf(rapid.SampledFrom(ids), rapid.SampledFrom(stopping)), 0, 4, rapid.ID[string]).Draw(t, "signs")
	for i, id := range seen {
		if i == 0 {
			b.WriteString("findings:\n")
		}
		answer := "present"
		if kinds := book.Signs.Get(id).KindIDs(); len(kinds) > 0 {
			answer = rapid.SampledFrom(kinds).Draw(t, "kind")
		}
		if rapid.IntRange(0, 3).Draw(t, "absent") == 0 {
			answer = "absent"
		}
		fmt.Fprintf(&b, "  %s: %s\n", id, answer)
	}
	return b.String()
}

func loadLocal(text string) (*rules.Book, error) {
	return rules.LoadOver(fstest.MapFS{"local.yaml": {Data: []byte(text)}}, "drawn")
}

// watchSome draws cases and has the watcher look at the answers of a local book
// with this text, at a plan of a teardown too. How firm an answer is, which
// nobody looks at here, is worked out for the first case alone.
func watchSome(t *rapid.T, built, book *rules.Book, text string) {
	for i := range 3 {
		k := builtInCaseText(t, built)
		if i == 1 {
			book = book.WithoutFirmness()
		}
		if fault := watchedOver(t, book, k, i == 0); fault != "" {
			t.Fatalf("%s\n%s\n%s", fault, k, text)
		}
	}
}

// With any local book that is taken, over the built-in book, no list is less
// safe than the built-in book demands.
func TestNoLocalBookTakesSafetyAway(t *testing.T) {
	built, err := rules.BuiltIn()
	require.NoError(t, err)
	taken, drawn := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		d := &localDraft{T: t, book: built}
		text := d.legal()
		drawn++
		book, err := loadLocal(text)
		if err != nil {
			return
		}
		taken++
		watchSome(t, built, book, text)
	})
	t.Logf("%d of %d local books were taken", taken, drawn)
	assert.Greater(t, 3*taken, drawn, "the draws must mostly be books that are taken")
}

// loosening draws a change of one key of one entry of the built-in book that
// would make it less safe, or might, in any spelling.
func (d *localDraft) loosening() string {
	section := d.pick("section", []string{"stops", "safety", "return", "openings", "checks", "signs", "causes", "limits"})
	ids := map[string][]string{
		"stops": d.book.Stops.IDs(), "safety": d.book.Safety.IDs(), "return": d.book.Returns.IDs(), "openings": d.book.Openings.IDs(),
		"checks": d.book.Checks.IDs(), "signs": d.book.Signs.IDs(), "causes": d.book.Causes.IDs(), "limits": d.book.Limits.IDs(),
	}[section]
	id := d.pick("id", ids)
	key := d.pick("key", map[string][]string{
		"stops":    {"when", "do", "standing", "signal", "title", "stop-pump", "power-off", "leave-pump", "by"},
		"safety":   {"title", "do", "for", "signal", "after", "again", "skip-on-stop", "hands", "minutes", "when"},
		"return":   {"title", "do", "minutes", "opened", "before", "when"},
		"openings": {"of", "needs", "safety", "close", "when", "hands", "do"},
		"checks":   {"of", "pump", "openings", "safety", "after", "after-when", "first-when", "closed", "when", "do", "results", "answers"},
		"signs":    {"of", "pump", "openings", "kinds", "reckoned", "follows", "when", "ask", "tell"},
		"causes":   {"of", "when", "haste", "haste-when", "repair", "again"},
		"limits":   {"value", "dimension"},
	}[section])
	value := d.pick("value", []string{
		"~", "", "null", "[]", "{}", "false", "true", "0", "1", `""`, "Carry on.", "[Carry on.]", "caution", "running", "live", "stopped", "any", "isolated", "not-isolated", "named",
		"pump", "cylinder", "next-safe-moment", "[prove-zero]", "[stop-pump]", "[box-open]", "[cylinder-open, liner-out]", "[well-check]", "[knock]", "{wait: watch, because: x, basis: judgement}",
		`state_is("running") and state_is("stopped")`, `recent("lcm-pumped")`, "20000 psi", "1 in", "{title: x, minutes: 0, do: x}", "[{when: true, after: []}]", "- x", "{a: b}",
	})
	spelled := d.pick("spelling", []string{"%s: %s", "\"%s\": %s", "'%s': %s", "\"" + fmt.Sprintf(`\x%02x`, key[0]) + "%s: %s", "? %s\n    : %s", "\"%s\" : %s"})
	if strings.HasPrefix(spelled, `"\x`) {
		key = key[1:] + `"`
	}
	return fmt.Sprintf("rulebook: {name: drawn rig, version: '1'}\n%s:\n  %s:\n    basis: judgement\n    %s\n", section, id, fmt.Sprintf(spelled, key, value))
}

// Whatever a local book writes for a key of the built-in book, in whatever
// spelling: it is refused, or the lists are no less safe for it.
func TestNoSpellingLoosensTheBuiltInBook(t *testing.T) {
	built, err := rules.BuiltIn()
	require.NoError(t, err)
	refused, drawn := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		d := &localDraft{T: t, book: built}
		text := d.loosening()
		drawn++
		book, err := loadLocal(text)
		if err != nil {
			assert.Contains(t, err.Error(), "drawn/local.yaml:", text)
			refused++
			return
		}
		watchSome(t, built, book, text)
	})
	t.Logf("%d of %d changes were refused", refused, drawn)
}

// Local books that took guards away, each with a case that shows it.
func TestLocalBooksThatTookGuardsAway(t *testing.T) {
	const head = "rulebook: {name: stranger, version: '1'}\n"
	well := "pump: {action: triplex-single-acting, state: stopped}\nrecent: [lcm-pumped]\nfindings: {pit-gain: present}\n"
	smoke := "pump: {action: triplex-single-acting, state: running}\nfindings: {smoke: power-end, wiper-leaks: again}\n"
	open := "pump: {action: triplex-single-acting, state: running}\nfindings: {rumble: present, liner-worn: {2: round}, pistons-fail-often: {2: one-sided}}\n"
	for name, c := range map[string]struct{ local, k string }{
		"the well's stop narrowed": {"stops:\n  well-control-first: {when: 'present(\"pit-gain\") && not recent(\"lcm-pumped\")', basis: judgement}\n", well},
		"all is well over a cover that leaks": {"stops:\n  carry-on: {title: All is well, signal: caution, by: at-once, when: 'present(\"wiper-leaks\")', do: [Keep the pump running.], leave-pump: true, basis: judgement}\n",
			"pump: {action: triplex-single-acting, state: running}\nfindings: {wiper-leaks: {again: [2]}, cover-leaks: {present: [1]}}\n"},
		"smoke left to the well":             {"stops:\n  smoke-seen: {leave-pump: true, basis: judgement}\n", smoke},
		"a figure that is not given":         {"stops:\n  well-control-first: {when: 'discharge > psi(1)', basis: judgement}\n", well},
		"the sign gone":                      {"signs:\n  smoke: {when: 'action_is(\"duplex-double-acting\")', basis: judgement}\n", smoke},
		"smoke that nobody stops for":        {"stops:\n  smoke-seen: {power-off: false, stop-pump: false, do: [Carry on.], signal: caution, basis: judgement}\n", smoke},
		"hands in on the running pump":       {"checks:\n  crank-end-look: {pump: running, openings: [], safety: [], basis: judgement}\n", strings.Replace(open, "rumble: present, liner-worn: {2: round}, pistons-fail-often: {2: one-sided}", "knock: once-per-turn", 1)},
		"no care at a cover under pressure":  {"openings:\n  cylinder-open: {safety: [], basis: judgement}\n", open},
		"leave the breaker closed":           {"safety:\n  lock-power: {do: Leave the breaker closed., minutes: 0, basis: judgement}\n", open},
		"no tools out":                       {"return:\n  tools-out: {when: 'false', basis: judgement}\n", open},
		"all locks off after the proof":      {"safety:\n  local-isolation-1: {title: Take every lock off again, for: isolation, signal: danger, after: [block-movement], minutes: 1, do: x, basis: judgement}\n", open},
		"locks off before the covers are on": {"return:\n  ours: {title: Ours, do: x, minutes: 1, before: [crosshead-cover-off], basis: judgement}\n", open},
	} {
		t.Run(name, func(t *testing.T) {
			if book, err := loadLocal(head + c.local); err == nil {
				assert.Empty(t, watchedOver(t, book, c.k, true))
				assert.Empty(t, watchedOver(t, book, strings.Replace(c.k, "state: running", "state: isolated", 1), true))
			}
		})
	}
}

// A stop of a local book stands by its signal and its haste among the others, and
// behind those of the built-in book that are alike. What it wants at once takes
// nothing from what they demand.
func TestALocalStopStandsInItsPlace(t *testing.T) {
	const leaks, leak = "cover-leak-under-pressure", "cover-leaks: {present: [1]}"
	for name, c := range map[string]struct {
		signal, by, findings string
		want                 []string
	}{
		"a caution behind a danger":                    {"caution", "at-once", leak, []string{leaks, "ours"}},
		"a warning behind a danger":                    {"warning", "at-once", leak, []string{leaks, "ours"}},
		"a danger behind the one that is alike":        {"danger", "at-once", leak, []string{leaks, "ours"}},
		"a danger that waits behind one at once":       {"danger", "next-safe-moment", leak, []string{leaks, "ours"}},
		"a caution at once behind a danger that waits": {"caution", "at-once", "dampener-gas: mud-at-valve", []string{"dampener-mud-at-valve", "ours"}},
		"a danger before a warning":                    {"danger", "at-once", "turns-wrong-way: present", []string{"ours", "reverse-rotation-suspected"}},
	} {
		t.Run(name, func(t *testing.T) {
			book, err := loadLocal(fmt.Sprintf("rulebook: {name: stranger, version: '1'}\nstops:\n  ours: {title: Ours, signal: %s, by: %s, when: 'present(\"wiper-leaks\")', do: [Keep it running.], basis: judgement}\n", c.signal, c.by))
			require.NoError(t, err)
			text := triplexRunning + "findings: {wiper-leaks: {again: [2]}, " + c.findings + "}"
			k, err := evidence.ParseCase("case.yaml", []byte(text), book.Vocabulary())
			require.NoError(t, err)
			r, err := Diagnose(book, k)
			require.NoError(t, err)
			var ids []string
			for _, s := range r.Stop {
				ids = append(ids, s.ID)
			}
			assert.Equal(t, c.want, ids)
			assert.False(t, r.LeavePump)
			assert.NotZero(t, position(r, work.StepSafety, "stop-pump"))
			assert.NotZero(t, position(r, work.StepSafety, "lock-power"))
			assert.Empty(t, watchedOver(t, book, text, true))
		})
	}
}

// rootless draws a local book that speaks against the roots of a failure: as rare
// as can be, found by any look, and out-weighed by others that bring it on.
func (d *localDraft) rootless(failure string) string {
	d.parts = map[string][]string{}
	for _, by := range d.book.BroughtBy(failure) {
		switch d.pick("root", []string{"rare", "raised", "left"}) {
		case "rare":
			d.add("causes", "%s: {how-common: 0.000001, odds: [{when: 'true', times: 0.001, basis: judgement}], shows: {%s}, basis: judgement}", by.By.ID, d.shows())
		case "raised":
			if by.When == nil && !slices.ContainsFunc(d.parts["causes"], func(entry string) bool { return strings.HasPrefix(entry, by.By.ID+":") }) {
				d.add("causes", "%s: {how-common: 0.5, brings: [{cause: %s, how-often: 0.999, basis: judgement}], basis: judgement}", by.By.ID, failure)
			}
		}
	}
	if rapid.Bool().Draw(d.T, "own root") {
		d.add("causes", "local-cause: {title: All is well, group: drive, role: root, of: pump, how-common: 0.9, shows: {}, brings: [{cause: %s, how-often: 0.999, basis: judgement}], why: x, repair: x, look-again: x, haste: {wait: watch, because: x, basis: judgement}, basis: judgement}", failure)
	}
	if rapid.Bool().Draw(d.T, "scale") {
		d.add("scale", "shows: {almost-always: 0.001, often: 0.001, sometimes: 0.001, rarely: 0.001}")
		d.add("scale", "basis: judgement")
	}
	if rapid.Bool().Draw(d.T, "finds") {
		d.add("checks", "listen-round: {finds: {%s: 0.999}, basis: judgement}", d.book.BroughtBy(failure)[0].By.ID)
	}
	return d.text()
}

// What a repair would leave unlooked at by the built-in book is named, and waits
// for the crew's yes, with any local book over it.
func TestNoLocalBookTakesALookAtARootAway(t *testing.T) {
	built, err := rules.BuiltIn()
	require.NoError(t, err)
	var failures []*rules.Cause
	for _, c := range built.Causes.List {
		if c.Role == rules.Failure && len(built.BroughtBy(c.ID)) > 0 {
			failures = append(failures, c)
		}
	}
	taken, lowered, left := 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		d := &localDraft{T: t, book: built}
		failure := rapid.SampledFrom(failures).Draw(t, "failure")
		text := d.rootless(failure.ID)
		book, err := loadLocal(text)
		if err != nil {
			assert.Contains(t, err.Error(), "drawn/local.yaml:", text)
			return
		}
		taken++
		place := ""
		if failure.Level != evidence.OfPump {
			place = ": 2"
		}
		k, err := evidence.ParseCase("case.yaml", []byte(triplexIsolated+"confirmed: ["+failure.ID+place+"]\n"), built.Vocabulary())
		if err != nil {
			return // the other kind of pump
		}
		leftBy := func(book *rules.Book) (out []string, lower bool) {
			m, err := chances.Lay(book, k)
			require.NoError(t, err)
			w, err := m.Solve()
			require.NoError(t, err)
			for _, c := range w.Proved() {
				for _, root := range c.RootsLeft {
					out = append(out, root.Cause+" "+root.Place.String())
					lower = lower || !slices.ContainsFunc(c.BroughtOnBy, func(o chances.Root) bool { return o == root })
				}
			}
			return out, lower
		}
		alone, _ := leftBy(built)
		over, lower := leftBy(book)
		assert.Subset(t, over, alone, text)
		left += len(alone)
		if lower {
			lowered++
		}
	})
	t.Logf("%d local books were taken; %d roots were left, some by the built-in book alone in %d cases", taken, left, lowered)
	assert.Positive(t, left)
	assert.Positive(t, lowered, "the draws must weigh some roots away")
}

// The tools are counted and the people out before an opening that only the local
// book has is closed.
func TestALocalOpeningIsNotClosedOverTools(t *testing.T) {
	book, err := loadLocal(`rulebook: {name: drawn rig, version: '1'}
openings:
  gear-lid-off: {title: Take the lid of the gear off, of: pump, minutes: 10, do: Off., close: {title: Put the lid of the gear back, minutes: 10, do: On.}, basis: judgement}
checks:
  gear-lid-look: {title: Look at the gear under its lid, of: pump, pump: isolated, openings: [gear-lid-off], minutes: 5, do: Look., finds: {gear-damaged: 0.9}, results: [{if: Worn, then: Tell the engineer., points-to: [gear-damaged]}], basis: judgement}
`)
	require.NoError(t, err)
	k, err := evidence.ParseCase("case.yaml", []byte("pump: {action: triplex-single-acting, state: isolated, open: [gear-lid-off]}\nfindings: {rumble: present}\n"), book.Vocabulary())
	require.NoError(t, err)
	r, err := Diagnose(book, k)
	require.NoError(t, err)
	at := map[string]int{}
	for _, s := range r.Steps {
		if s.Kind == work.StepReturn {
			at[s.ID] = s.Number
		}
	}
	require.Contains(t, at, "gear-lid-off")
	require.Contains(t, at, "tools-out")
	assert.Less(t, at["tools-out"], at["gear-lid-off"])
}

// A threshold of a local book has a reading say that a sign is not there. By the
// built-in book no reading says so, and it can wait no longer than by that alone.
func TestALocalThresholdLeavesNoMoreTime(t *testing.T) {
	built, err := rules.BuiltIn()
	require.NoError(t, err)
	local, err := loadLocal("rulebook: {name: drawn rig, version: '1'}\nthresholds:\n  local-loss: {title: T, of: output-loss, above: 0.6, shows: counter-wrong, basis: judgement}\n")
	require.NoError(t, err)
	k, err := evidence.ParseCase("case.yaml", []byte(`
pump: {action: triplex-single-acting, state: running, liner: 6.5 in, stroke: 12 in}
findings: {pump-tripped: this-one, pressure-low: fell-suddenly}
measured:
  tank-test: {strokes: 510, strokes-within: 1, volume: 43 bbl, volume-within: 0.5 bbl}
`), built.Vocabulary())
	require.NoError(t, err)
	alone, err := Diagnose(built.WithoutFirmness(), k)
	require.NoError(t, err)
	over, err := Diagnose(local.WithoutFirmness(), k)
	require.NoError(t, err)
	require.Less(t, over.Haste.Chances[0].Chance, alone.Haste.Chances[0].Chance, "the reading speaks against it")
	assert.False(t, rules.Wait(alone.Haste.Verdict).Sooner(rules.Wait(over.Haste.Verdict)), "%s, by the built-in book alone %s", over.Haste.Verdict, alone.Haste.Verdict)
	short, err := chances.NewRanker(local).Rank(k, 1)
	require.NoError(t, err)
	assert.Equal(t, over.Haste.Verdict, short.Haste.Verdict)
}

// A local book lets a root show what a stop is about. Once the stop is over it
// can wait no longer than by the built-in book alone.
func TestALocalSignLeavesNoMoreTimeOnceAStopIsOver(t *testing.T) {
	built, err := rules.BuiltIn()
	require.NoError(t, err)
	local, err := loadLocal("rulebook: {name: drawn rig, version: '1'}\ncauses:\n  sandy-mud: {shows: {rod-broken: 0.999}, basis: judgement}\n")
	require.NoError(t, err)
	k, err := evidence.ParseCase("case.yaml", []byte(`
pump: {action: triplex-single-acting, state: stopped}
findings: {rod-broken: {3: present}}
confirmed: [sandy-mud]
corrected: [sandy-mud]
looked-again: [sandy-mud]
`), built.Vocabulary())
	require.NoError(t, err)
	over := func(book *rules.Book) rules.Wait {
		r, err := Diagnose(book.WithoutFirmness(), k)
		require.NoError(t, err)
		for _, c := range r.Haste.ChangesIf {
			if c.If == chances.ChangeOver {
				return rules.Wait(c.Verdict)
			}
		}
		return rules.Wait(r.Haste.Verdict)
	}
	require.Equal(t, rules.NextConnection, over(built))
	assert.Equal(t, rules.NextConnection, over(local))
}
