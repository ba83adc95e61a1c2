package record

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"telltale/evidence"
	"telltale/evidence/source"
)

func TestEdits(t *testing.T) {
	for name, c := range map[string]change{
		"recent":                 {triplex, "recent: valves-changed # mon\n", []Edit{AddRecent("wipers-changed")}, "recent: [valves-changed, wipers-changed] # mon\n"},
		"no longer recent":       {triplex, "recent: [valves-changed, wipers-changed]\n", []Edit{RemoveRecent("valves-changed")}, "recent: [wipers-changed]\n"},
		"nothing recent":         {triplex, "recent: valves-changed\n", []Edit{RemoveRecent("valves-changed")}, ""},
		"it did not help":        {triplex, "recent: [valves-changed, wipers-changed] # mon\n", []Edit{SayOfRecent("valves-changed", WorkCured, "no")}, "recent: [valves-changed: {cured: no}, wipers-changed] # mon\n"},
		"it helped, after all":   {triplex, "recent:\n  - valves-changed: {cured: no, at: 2} # mon\n", []Edit{SayOfRecent("valves-changed", WorkCured, "yes")}, "recent:\n  - valves-changed: {cured: yes, at: 2} # mon\n"},
		"done before":            {triplex, "recent:\n  - valves-changed: {cured: no, at: 2}\n", []Edit{SayOfRecent("valves-changed", WorkDone, "before-trouble")}, "recent:\n  - valves-changed: {done: before-trouble, at: 2}\n"},
		"done after, one word":   {triplex, "recent: valves-changed\n", []Edit{SayOfRecent("valves-changed", WorkDone, "after-trouble")}, "recent: [valves-changed: {done: after-trouble}]\n"},
		"done and told at once":  {triplex, "", []Edit{SayOfRecent("valves-changed", WorkCured, "no")}, "recent: [valves-changed: {cured: no}]\n"},
		"told, no longer recent": {triplex, "recent: [valves-changed: {cured: no}, wipers-changed]\n", []Edit{RemoveRecent("valves-changed")}, "recent: [wipers-changed]\n"},
		"manual":                 {triplex, "", []Edit{SetManual("cap-torque", "260 ft lbf")}, "manual:\n  cap-torque: 260 ft lbf\n"},
		"manual, taken out":      {triplex, "manual: {cap-torque: 260 ft lbf}\n", []Edit{SetManual("cap-torque", "")}, ""},
		"confirmed":              {triplex, "", []Edit{Confirm("clamp-loose", at("2"))}, "confirmed:\n  - clamp-loose: 2\n"},
		"confirmed, pump":        {triplex, "", []Edit{Confirm("reverse")}, "confirmed: [reverse]\n"},
		"confirmed at two":       {triplex, "confirmed:\n  - clamp-loose: 2 # seen\n", []Edit{Confirm("clamp-loose", at("1"))}, "confirmed:\n  - clamp-loose: [1, 2] # seen\n"},
		"confirmed, ruled out":   {triplex, "ruled-out: [clamp-loose]\n", []Edit{Confirm("clamp-loose", at("1"))}, "ruled-out: [clamp-loose: [2, 3]]\nconfirmed:\n  - clamp-loose: 1\n"},
		"ruled out, confirmed":   {triplex, "confirmed: [reverse]\ncorrected: [reverse]\n", []Edit{RuleOut("reverse")}, "ruled-out: [reverse]\n"},
		"ruled out everywhere":   {triplex, "ruled-out: [clamp-loose: 2]\n", []Edit{RuleOut("clamp-loose")}, "ruled-out: [clamp-loose]\n"},
		"not ruled out any more": {triplex, "ruled-out:\n  - clamp-loose\n", []Edit{Unrule("clamp-loose", at("2"))}, "ruled-out:\n  - clamp-loose: [1, 3]\n"},
		"judged":                 {triplex, "", []Edit{Judge("clamp-loose", at("2"))}, "judged:\n  - clamp-loose: 2\n"},
		"judged, then proved":    {triplex, "judged: [reverse, clamp-loose: 2]\n", []Edit{Confirm("reverse")}, "judged: [clamp-loose: 2]\nconfirmed: [reverse]\n"},
		"judged, ruled out":      {triplex, "judged: [reverse]\n", []Edit{RuleOut("reverse")}, "ruled-out: [reverse]\n"},
		"judged no more":         {triplex, "judged: [reverse]\n", []Edit{Unjudge("reverse")}, ""},
		"corrected":              {triplex, "confirmed: [clamp-loose: [1, 2]]\n", []Edit{Corrected("clamp-loose")}, "confirmed: [clamp-loose: [1, 2]]\ncorrected:\n  - clamp-loose: [1, 2]\n"},
		"looked at again": {triplex, "confirmed: [reverse]\n", []Edit{Corrected("reverse"), LookedAgain("reverse")},
			"confirmed: [reverse]\ncorrected: [reverse]\nlooked-again: [reverse]\n"},
		"root left":     {triplex, "confirmed: [clamp-loose: 2]\n", []Edit{LeaveRoot("clamp-loose", at("2"))}, "confirmed: [clamp-loose: 2]\nroot-left:\n  - clamp-loose: 2\n"},
		"came back":     {triplex, "confirmed: [reverse]\ncorrected: [reverse]\nroot-left: [reverse]\n", []Edit{Uncorrected("reverse")}, "confirmed: [reverse]\n"},
		"not corrected": {triplex, "confirmed: [reverse]\ncorrected: [reverse]\nlooked-again: [reverse]\n", []Edit{Uncorrected("reverse")}, "confirmed: [reverse]\n"},
		"not confirmed": {triplex, "confirmed: [reverse]\ncorrected: [reverse]\nlooked-again: [reverse]\nroot-left: [reverse]\n", []Edit{Unconfirm("reverse")}, ""},
		"checked":       {triplex, "", []Edit{Checked("gauge-face", "nothing", at("2"))}, "checked:\n  gauge-face: {nothing: [2]}\n"},
		"checked all":   {triplex, "checked: {gauge-face: {nothing: [2]}}\n", []Edit{Checked("gauge-face", "nothing")}, "checked: {gauge-face: nothing}\n"},
		"unclear now":   {triplex, "checked: {gauge-face: nothing}\n", []Edit{Checked("gauge-face", "unclear", at("2"))}, "checked: {gauge-face: {nothing: [1, 3], unclear: [2]}}\n"},
		"one end checked": {duplex, "checked:\n  listen:\n    nothing: [left] # no hiss\n", []Edit{Checked("listen", "unclear", at("left head"))},
			"checked:\n  listen:\n    nothing: [left crank] # no hiss\n    unclear: [left head]\n"},
		"unchecked": {triplex, "checked: {gauge-face: nothing}\n", []Edit{Unchecked("gauge-face", at("2"))}, "checked: {gauge-face: {nothing: [1, 3]}}\n"},
		"pump": {"", "pump:\n  action: triplex-single-acting\n  state: running # now\n",
			[]Edit{SetPump("speed", "95 strokes/min"), SetPump("state", "stopped")},
			"pump:\n  action: triplex-single-acting\n  state: stopped # now\n  speed: 95 strokes/min\n"},
		"no edit": {triplex, "", []Edit{{}}, ""},
	} {
		t.Run(name, c.check)
	}
}

func TestOpening(t *testing.T) {
	head := "pump:\n  action: triplex-single-acting\n  state: isolated\n"
	for name, c := range map[string]change{
		"open":            {head, "", []Edit{Opened("cover-off", at("2"))}, "  open:\n    - cover-off: 2\n"},
		"open all":        {head, "", []Edit{Opened("cover-off")}, "  open: [cover-off]\n"},
		"open already":    {head, "  open: [rod-out: 2]\n", []Edit{Opened("rod-out", at("2"))}, "  open: [rod-out: 2]\n"},
		"close":           {head, "  open: [cover-off]\n", []Edit{Closed("cover-off", at("2"))}, "  open: [cover-off: [1, 3]]\n  closed-again:\n    - cover-off: 2\n"},
		"close the inner": {head, "  open: [rod-out: 2]\n", []Edit{Closed("rod-out", at("2"))}, "  open:\n    - cover-off: 2\n  closed-again:\n    - rod-out: 2\n"},
		"not open":        {head, "", []Edit{Closed("cover-off", at("2"))}, ""},
		"open once more":  {head, "  closed-again: [cover-off: [1, 2]]\n", []Edit{Opened("cover-off", at("2"))}, "  closed-again: [cover-off: 1]\n  open:\n    - cover-off: 2\n"},
		"in service":      {head, "  open: [cover-off: 2]\n", []Edit{Closed("cover-off", at("2")), BackInService()}, ""},
		"close and run": {head, "  open: [rod-out: 2]\n", []Edit{SetPump("state", "stopped"), Closed("rod-out"), Closed("cover-off"), SetPump("state", "isolated")},
			"  closed-again:\n    - rod-out: 2\n    - cover-off: 2\n"},
	} {
		t.Run(name, c.check)
	}
	for name, c := range map[string]refusal{
		"needed":  {head, "  open: [rod-out: 2]\n", Closed("cover-off", at("2")), "rod-out is open at 2 and needs cover-off open; close it first"},
		"running": {strings.Replace(head, "isolated", "running", 1), "", Opened("cover-off", at("2")), "the pump is running but something is open; isolate the pump and say state: isolated, or close it"},
	} {
		t.Run(name, c.check)
	}
}

func TestMeasuredAndLog(t *testing.T) {
	got := apply(t, triplex, SetMeasured("1 thou", "rod-in-opening", "2", "resolution"), SetMeasured("141 thou", "rod-in-opening", "2", "back", "top"))
	got = apply(t, got, SetMeasured("118 thou", "rod-in-opening", "2", "back", "bottom"),
		AddLog(evidence.LogEntry{At: "2026-03-01T10:30:00Z", By: "Joe", Did: "measured: rod 2"}), AddLog(evidence.LogEntry{Did: "went home"}))
	assert.Equal(t, triplex+`measured:
  rod-in-opening:
    2:
      resolution: 1 thou
      back: {top: 141 thou, bottom: 118 thou}
log:
  - {at: 2026-03-01T10:30:00Z, by: Joe, did: "measured: rod 2"}
  - did: went home
`, got)
}

func TestReadingsInListsAndAfterARepair(t *testing.T) {
	stations := func(lines ...map[string]string) Edit {
		return SetLines(lines, []string{"up-down", "across"}, "measured", "liner-bore", "2", "stations")
	}
	got := apply(t, triplex, SetMeasured("1 thou", "liner-bore", "2", "resolution"), stations(map[string]string{"across": "6.5 in", "up-down": "6.52 in"}, map[string]string{"across": "6.51 in"}))
	got = apply(t, got, SetMeasuredAgain("1 thou", "rod-face-gap", "2", "resolution"), SetMeasuredAgain("2 thou", "rod-face-gap", "2", "top"))
	got = apply(t, got, SetSuction("12 lb/gal", "mud-weight"), SetLines([]map[string]string{{"length": "20 ft", "bore": "10 in"}}, []string{"length", "bore"}, "suction-line", "pipes"))
	assert.Equal(t, triplex+`measured:
  liner-bore:
    2:
      resolution: 1 thou
      stations: [{up-down: 6.52 in, across: 6.5 in}, across: 6.51 in]
measured-again:
  rod-face-gap:
    2:
      resolution: 1 thou
      top: 2 thou
suction-line:
  mud-weight: 12 lb/gal
  pipes:
    - {length: 20 ft, bore: 10 in}
`, got)
	assert.NotContains(t, apply(t, got, SetLines(nil, nil, "suction-line")), "suction-line")
	_, _, err := Apply("case.yaml", []byte(got), words(), stations())
	assert.ErrorContains(t, err, `liner-bore of 2 has no "stations"`)
}

func TestANewCase(t *testing.T) {
	got := apply(t, "", SetPump("name", "Pump 2"), SetPump("action", "triplex-single-acting"), SetPump("state", "running"), SetFinding("knock", "once"))
	assert.Equal(t, "pump:\n  name: Pump 2\n  action: triplex-single-acting\n  state: running\nfindings:\n  knock: once\n", got)
}

func TestWhatACaseCannotTake(t *testing.T) {
	for name, c := range map[string]refusal{
		"cause":         {triplex, "", Confirm("clamp-lose", at("2")), `unknown cause "clamp-lose"; expected one of: clamp-loose, reverse, valve-cut; did you mean clamp-loose?`},
		"where":         {triplex, "", Confirm("clamp-loose"), `clamp-loose was confirmed, but where? write "- clamp-loose: 2"; expected one of: 1, 2, 3`},
		"place":         {triplex, "", RuleOut("clamp-loose", at("4")), `this pump has no cylinder "4"; expected one of: 1, 2, 3`},
		"no place":      {triplex, "", RuleOut("reverse", at("2")), `"2" names a cylinder, but this belongs to the whole pump; leave the place out`},
		"not confirmed": {triplex, "", Corrected("reverse"), "reverse is corrected here but not confirmed; write it there first"},
		"not there":     {triplex, "", LeaveRoot("reverse"), "reverse is left without a look at its root here but not confirmed; write it there first"},
		"result":        {triplex, "", Checked("bump", "nothin"), `unknown result "nothin"; expected one of: nothing, unclear; did you mean nothing?`},
		"check":         {triplex, "", Checked("bumb", "nothing"), `unknown check "bumb"; expected one of: bump, gauge-face, listen; did you mean bump?`},
		"work":          {triplex, "", AddRecent("valve-changed"), `unknown recent work "valve-changed"; expected one of: valves-changed, wipers-changed; did you mean valves-changed?`},
		"pump's key":    {triplex, "", SetPump("sped", "95 strokes/min"), `the pump has no key "sped"; did you mean speed?`},
		"unit":          {triplex, "", SetManual("cap-torque", "260 psi"), `"260 psi" is a pressure; expected a torque of zero or more with its unit (N m, ft lbf)`},
		"nothing yet":   {"", "", SetFinding("knock", "once"), "the case is empty; expected at least pump: with action: and state:"},
	} {
		t.Run(name, c.check)
	}
}

func TestADamagedCaseIsNotTouched(t *testing.T) {
	_, _, err := Apply("case.yaml", []byte(triplex+"finding: {}\n"), words(), SetFinding("knock", "once"))
	var damaged *DamagedError
	require.ErrorAs(t, err, &damaged)
	var input *source.InputError
	require.ErrorAs(t, err, &input)
	assert.Contains(t, err.Error(), `case.yaml:2:1: the case has no key "finding"`)
}

// model is what a case says of lists and checks, as plain sets.
type model struct {
	sets map[string]map[string]bool // list: "id@place"
}

func (m model) put(list, id string, places []evidence.Place, in bool) {
	for _, p := range places {
		if in {
			m.sets[list][id+"@"+p.String()] = true
		} else {
			delete(m.sets[list], id+"@"+p.String())
		}
	}
}

func setOf(all []evidence.At) map[string]bool {
	out := map[string]bool{}
	for _, a := range all {
		out[a.ID+"@"+a.Place.String()] = true
	}
	return out
}

func modelOf(k *evidence.Case) model {
	return model{map[string]map[string]bool{
		"open": setOf(k.Pump.Open), "confirmed": setOf(k.Confirmed), "ruled-out": setOf(k.RuledOut), "corrected": setOf(k.Corrected),
		"looked-again": setOf(k.LookedAgain), "root-left": setOf(k.RootLeft), "nothing": setOf(k.Cleared), "unclear": setOf(k.Unclear),
	}}
}

func (m model) clone() model {
	out := model{map[string]map[string]bool{}}
	for k, v := range m.sets {
		out.sets[k] = maps.Clone(v)
	}
	return out
}

var someLists = []string{
	"", "checked: {gauge-face: nothing, listen: unclear}\n", "ruled-out: [clamp-loose, reverse]\n", "ruled-out:\n  - clamp-loose: all # none\n  - valve-cut\n",
	"confirmed:\n- clamp-loose: 2\n- clamp-loose: 3 # two lines\n", "checked:\n  gauge-face:\n    nothing: [2] # fine\n    unclear: 3\n",
}

// TestASequenceOfEditsMeansWhatTheSetsMean drives the edits of lists and
// checks against plain sets.
func TestASequenceOfEditsMeansWhatTheSetsMean(t *testing.T) {
	taken, left := 0, 0
	for range 5 {
		rapid.Check(t, func(t *rapid.T) {
			head := rapid.SampledFrom([]string{triplex, duplex}).Draw(t, "pump")
			layout := layouts()[head]
			text := head + rapid.SampledFrom(someLists).Draw(t, "lists")
			if head == duplex {
				text = strings.NewReplacer(": 2", ": left", ": 3", ": right", "[2]", "[left]").Replace(text)
			}
			for range rapid.IntRange(1, 6).Draw(t, "edits") {
				k, err := evidence.ParseCase("case.yaml", []byte(text), words())
				require.NoError(t, err)
				want := modelOf(k).clone()
				edit, how := drawEdit(t, layout, want)
				got, after, err := Apply("case.yaml", []byte(text), words(), edit)
				if err != nil {
					left++
					continue
				}
				taken++
				require.Equal(t, want, modelOf(after), "%s\n%s\n%s", text, how, got)
				require.Equal(t, strings.Count(text, "#"), strings.Count(string(got), "#"), "comments of %s", text)
				text = string(got)
			}
		})
	}
	assert.Greater(t, taken, 2*left)
}

func drawEdit(t *rapid.T, layout evidence.Layout, m model) (Edit, string) {
	pick := func(from ...string) string { return rapid.SampledFrom(from).Draw(t, "word") }
	places := func(level evidence.Level) (named, over []evidence.Place) {
		every := topic{layout, evidence.SignWord{Level: level}}.anywhere()
		p := rapid.SampledFrom(every).Draw(t, "place")
		return []evidence.Place{p}, layout.Under(p, level)
	}
	cause := pick("clamp-loose", "reverse", "valve-cut")
	named, over := places(words().Causes[cause])
	switch what := pick("confirm", "unconfirm", "rule", "unrule", "correct", "uncorrect", "again", "leave", "check", "uncheck", "open", "close"); what {
	case "confirm":
		m.put("ruled-out", cause, over, false)
		m.put("confirmed", cause, over, true)
		return Confirm(cause, named...), what + cause
	case "unconfirm", "rule":
		for _, list := range []string{"confirmed", "corrected", "looked-again", "root-left"} {
			m.put(list, cause, over, false)
		}
		if what == "unconfirm" {
			return Unconfirm(cause, named...), what + cause
		}
		m.put("ruled-out", cause, over, true)
		return RuleOut(cause, named...), what + cause
	case "unrule":
		m.put("ruled-out", cause, over, false)
		return Unrule(cause, named...), what + cause
	case "correct", "again", "leave":
		from, to, edit := "confirmed", "corrected", Corrected
		switch what {
		case "again":
			from, to, edit = "corrected", "looked-again", LookedAgain
		case "leave":
			to, edit = "root-left", LeaveRoot
		}
		if named[0] == (evidence.Place{}) { // wherever it is in the earlier list
			over = slices.DeleteFunc(over, func(p evidence.Place) bool { return !m.sets[from][cause+"@"+p.String()] })
		}
		m.put(to, cause, over, true)
		return edit(cause, named...), what + cause
	case "uncorrect":
		m.put("corrected", cause, over, false)
		m.put("root-left", cause, over, false)
		m.put("looked-again", cause, over, false)
		return Uncorrected(cause, named...), what + cause
	case "check", "uncheck":
		check := pick("gauge-face", "bump", "listen")
		named, over := places(words().Checks[check])
		m.put("nothing", check, over, false)
		m.put("unclear", check, over, false)
		if what == "uncheck" {
			return Unchecked(check, named...), what + check
		}
		result := pick("nothing", "unclear")
		m.put(result, check, over, true)
		return Checked(check, result, named...), what + check + result
	default:
		opening := pick("cover-off", "rod-out", "pot-open", "platform-off")
		named, over := places(words().Openings[opening].Level)
		m.put("open", opening, over, what == "open")
		if what == "open" && opening == "rod-out" {
			m.put("open", "cover-off", over, true)
		}
		if what == "open" {
			return Opened(opening, named...), what + opening
		}
		return Closed(opening, named...), fmt.Sprint(what, opening, named)
	}
}

// FuzzApply edits cases that nobody thought of: the new text is a case, or
// there is an error of a known kind.
func FuzzApply(f *testing.F) {
	for _, seed := range append([]string{triplex, duplex, triplex + "findings: {wiper-leaks: {again: [somewhere, 2], absent: others}}\n"}, someLists...) {
		f.Add([]byte(triplex+seed), "wiper-leaks", "again", "2")
		f.Add([]byte(triplex+"recent: [wipers-changed, valves-changed: {cured: no}]\n"), "wipers-changed", "yes", "2")
		f.Add([]byte(seed), "listen", "nothing", "left head")
	}
	f.Fuzz(func(t *testing.T, text []byte, id, word, place string) {
		p := at(place)
		for _, e := range []Edit{
			SetFinding(id, word, p), SetFinding(id, word), ClearFinding(id, p), Checked(id, word, p), Unchecked(id, p), Confirm(id, p), RuleOut(id), Unrule(id, p),
			Corrected(id), Opened(id, p), Closed(id, p), SetPump(id, word), SetManual(id, word), AddRecent(id), RemoveRecent(id), SayOfRecent(id, WorkCured, word), SayOfRecent(id, WorkDone, word), AddLog(evidence.LogEntry{Did: word}),
		} {
			got, k, err := Apply("f.yaml", text, words(), e)
			var damaged *DamagedError
			var refused *RefusedError
			switch {
			case err == nil:
				require.NotNil(t, k)
				_, err := evidence.ParseCase("f.yaml", got, words())
				require.NoError(t, err)
			case !errors.As(err, &damaged) && !errors.As(err, &refused):
				t.Fatal(err)
			default:
				var input *source.InputError
				require.ErrorAs(t, err, &input)
				for _, p := range input.Problems {
					require.Contains(t, source.Codes(), p.Code, "%v", p)
				}
			}
		}
	})
}

// FuzzTheRestStays writes two things that touch nothing else, the name of the pump
// and a line of the log, and reads the file again: the rest of the case is what it
// was, and what was written is there.
func FuzzTheRestStays(f *testing.F) {
	for _, seed := range append([]string{triplex, duplex, triplex + "findings: {wiper-leaks: {again: [somewhere, 2], absent: others}}\n", "pump:\r\n  action: duplex-double-acting\r\n  state: running # now\r\n"}, someLists...) {
		f.Add([]byte(seed), "Pump: 2 # new")
		f.Add([]byte(triplex+seed), "~")
	}
	f.Fuzz(func(t *testing.T, text []byte, word string) {
		before, err := evidence.ParseCase("f.yaml", text, words())
		if err != nil {
			return
		}
		said := evidence.LogEntry{Did: word}
		got, _, err := Apply("f.yaml", text, words(), SetPump("name", word), AddLog(said))
		if err != nil {
			return // an empty word, or a control character
		}
		after, err := evidence.ParseCase("f.yaml", got, words())
		require.NoError(t, err)
		require.Equal(t, strings.TrimSpace(word), after.Pump.Name)
		require.Equal(t, strings.TrimSpace(word), after.Log[len(after.Log)-1].Did)
		after.Pump.Name, after.Log = before.Pump.Name, after.Log[:len(after.Log)-1]
		require.Equal(t, withoutPlaces(t, before), withoutPlaces(t, after), "%q became %q", text, got)
	})
}

// withoutPlaces is a case without the places in its file.
func withoutPlaces(t *testing.T, k *evidence.Case) string {
	text, err := json.Marshal(k)
	require.NoError(t, err)
	text = regexp.MustCompile(`"Pos":\{[^}]*\}`).ReplaceAll(text, nil)
	return strings.ReplaceAll(string(text), `"Log":[]`, `"Log":null`)
}
