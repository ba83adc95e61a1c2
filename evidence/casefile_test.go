package evidence

import (
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence/source"
)

func words() Vocabulary {
	onDuplex := func(p *Pump) bool { return p.Action == Duplex }
	return Vocabulary{
		Symptoms: map[string]SymptomWord{
			"wiper-leaks":   {Level: OfCylinder, Kinds: []string{"again", "first"}},
			"rod-worn":      {Level: OfCylinder, Kinds: []string{"underside", "top"}},
			"knock":         {Level: OfPump},
			"hiss":          {Level: OfChamber, Kinds: []string{"suction", "discharge"}},
			"packing-leaks": {Level: OfCylinder, Applies: onDuplex},
		},
		Causes: map[string]Level{"clamp-loose": OfCylinder, "reverse": OfPump, "valve-cut": OfChamber},
		Checks: map[string]Level{"gauge-face": OfCylinder, "bump": OfPump},
		Access: map[string]AccessWord{"cover-off": {Level: OfCylinder}, "rod-out": {Level: OfCylinder, Needs: []string{"cover-off"}}},
		Works:  []string{"valves-changed"},
		Limits: map[string]Dimension{"cap-torque": Torque},
	}
}

func parseText(text string) (*Case, error) { return ParseCase("case.yaml", []byte(text), words()) }

const triplexHead = "pump: {action: triplex-single-acting, state: running}\n"
const duplexHead = "pump: {action: duplex-double-acting, state: stopped}\n"

// short writes findings in a form that a table can hold.
func short(k *Case) []string {
	var out []string
	for _, f := range k.Findings {
		var over []string
		for _, p := range f.Over {
			over = append(over, p.String())
		}
		s := f.Symptom + " " + string(f.Answer)
		if f.Kind != "" {
			s += " " + f.Kind
		}
		out = append(out, s+" ["+strings.Join(over, "|")+"]")
	}
	return out
}

func TestFindings(t *testing.T) {
	for name, c := range map[string]struct {
		text string
		want []string
	}{
		"by answer":        {triplexHead + "findings: {wiper-leaks: {present: [2], absent: [1, 3]}}", []string{"wiper-leaks present [2]", "wiper-leaks absent [1]", "wiper-leaks absent [3]"}},
		"by place":         {triplexHead + "findings: {rod-worn: {2: underside, absent: [1, 3]}}", []string{"rod-worn present underside [2]", "rod-worn absent [1]", "rod-worn absent [3]"}},
		"by kind":          {triplexHead + "findings: {rod-worn: {top: [1, 2]}}", []string{"rod-worn present top [1]", "rod-worn present top [2]"}},
		"others":           {triplexHead + "findings: {rod-worn: {2: top, absent: others}}", []string{"rod-worn present top [2]", "rod-worn absent [1]", "rod-worn absent [3]"}},
		"all":              {triplexHead + "findings: {wiper-leaks: {present: all}}", []string{"wiper-leaks present [1]", "wiper-leaks present [2]", "wiper-leaks present [3]"}},
		"which is unknown": {triplexHead + "findings: {wiper-leaks: present}", []string{"wiper-leaks present [1|2|3]"}},
		"none":             {triplexHead + "findings: {wiper-leaks: absent}", []string{"wiper-leaks absent [1|2|3]"}},
		"unknown is nothing": {triplexHead + "findings: {wiper-leaks: unknown, knock: unknown, rod-worn: {unknown: [1, 2], 3: unknown}}",
			nil},
		"empty is nothing": {triplexHead + "findings:\n  knock:\n", nil},
		"pump":             {triplexHead + "findings: {knock: present}", []string{"knock present []"}},
		"one end":          {duplexHead + "findings: {hiss: {left head: suction}}", []string{"hiss present suction [left head]"}},
		"end not known":    {duplexHead + "findings: {hiss: {left: suction}}", []string{"hiss present suction [left head|left crank]"}},
		"end narrowed":     {duplexHead + "findings: {hiss: {left: suction, absent: [left crank]}}", []string{"hiss present suction [left head]", "hiss absent [left crank]"}},
		"end said exactly": {duplexHead + "findings: {hiss: {present: [left], left head: suction}}", []string{"hiss present suction [left head]"}},
		"said twice":       {duplexHead + "findings: {hiss: {present: [left, left]}}", []string{"hiss present [left head|left crank]"}},
		"kind kept":        {duplexHead + "findings: {hiss: {left: suction, left head: present}}", []string{"hiss present suction [left head|left crank]", "hiss present [left head]"}},
		"kind made exact":  {triplexHead + "findings: {rod-worn: {present: [2], top: [2]}}", []string{"rod-worn present top [2]"}},
		"no ends on triplex": {triplexHead + "findings: {hiss: {2: suction}}",
			[]string{"hiss present suction [2]"}},
		"crew's names": {"pump: {action: duplex-double-acting, state: stopped, cylinders: [port, starboard]}\nfindings: {packing-leaks: {present: [port]}}",
			[]string{"packing-leaks present [port]"}},
	} {
		t.Run(name, func(t *testing.T) {
			k, err := parseText(c.text)
			require.NoError(t, err)
			assert.Equal(t, c.want, short(k))
		})
	}
}

func TestCaseReportsEveryMistakeWithItsPlace(t *testing.T) {
	for name, c := range map[string]struct{ text, want string }{
		"empty":            {"", "case.yaml:1:1: the case is empty; expected at least pump: with action: and state:"},
		"no pump":          {"findings: {}", `case.yaml:1:1: the case has no "pump"`},
		"unknown key":      {triplexHead + "finding: {}", `case.yaml:2:1: the case has no key "finding"; expected one of: checked, confirmed, findings, manual, measured, parts, pump, recent, ruled-out, shims-on-hand, suction-line; did you mean findings?`},
		"action":           {"pump: {action: triplex, state: running}", `case.yaml:1:16: unknown action "triplex"; expected one of: duplex-double-acting, triplex-single-acting; did you mean triplex-single-acting?`},
		"state missing":    {"pump: {action: triplex-single-acting}", `case.yaml:1:7: the pump has no "state"`},
		"unit":             {"pump: {action: triplex-single-acting, state: running, liner: 40 psi}", `case.yaml:1:62: "40 psi" is a pressure; expected a length of zero or more with its unit (cm, ft, in, m, mm, thou, µm)`},
		"nothing":          {"pump: {action: triplex-single-acting, state: running, liner: 0 in}", `case.yaml:1:62: "0 in" is nothing; leave the line out if it is not known`},
		"symptom":          {triplexHead + "findings: {wiper-leak: present}", `case.yaml:2:12: unknown symptom "wiper-leak"; expected one of: hiss, knock, packing-leaks, rod-worn, wiper-leaks; did you mean wiper-leaks?`},
		"other pump":       {triplexHead + "findings: {packing-leaks: present}", `case.yaml:2:12: packing-leaks cannot be seen on a triplex-single-acting pump`},
		"cylinder":         {triplexHead + "findings: {wiper-leaks: {present: [4]}}", `case.yaml:2:36: "4" is neither a cylinder of this pump nor an answer; expected one of: 1, 2, 3, absent, again, first, present, unknown`},
		"end on triplex":   {triplexHead + "findings: {hiss: {2 head: suction}}", `case.yaml:2:19: "2 head" is neither a cylinder of this pump nor an answer`},
		"end too fine":     {duplexHead + "findings: {packing-leaks: {present: [left head]}}", `case.yaml:2:38: "left head" names one end, but this belongs to the whole cylinder; write left`},
		"pump too fine":    {triplexHead + "findings: {knock: {2: present}}", `case.yaml:2:19: knock belongs to the whole pump; write one answer, without cylinders`},
		"contradiction":    {triplexHead + "findings: {wiper-leaks: {present: [2], absent: [2]}}", `case.yaml:2:49: wiper-leaks of 2 is absent here and present at line 2; keep one`},
		"two kinds":        {triplexHead + "findings:\n  rod-worn:\n    2: top\n    underside: [2]", `case.yaml:5:17: rod-worn of 2 is underside here and top at line 4; one finding has one kind`},
		"others twice":     {triplexHead + "findings: {rod-worn: {present: others, absent: others}}", `case.yaml:2:48: others stands twice; it is said first at line 2`},
		"two vague kinds":  {duplexHead + "findings: {hiss: {suction: [left], discharge: [left]}}", `hiss of left is discharge here and suction at line 2; name the end or cylinder of each`},
		"nowhere left":     {duplexHead + "findings: {hiss: {left: suction, absent: [left head, left crank]}}", `case.yaml:2:19: hiss is present of left here, but every place there is known not to show it; keep one`},
		"answer":           {triplexHead + "findings: {knock: yes}", `case.yaml:2:19: unknown answer "yes"; expected one of: absent, present, unknown`},
		"duplicate":        {triplexHead + "findings:\n  knock: present\n  knock: absent\n", `case.yaml:4:3: key "knock" stands twice; it stands first at line 3`},
		"recent":           {triplexHead + "recent: [valve-changed]", `case.yaml:2:10: unknown recent work "valve-changed"; expected one of: valves-changed; did you mean valves-changed?`},
		"open but running": {"pump: {action: triplex-single-acting, state: running, open: [cover-off: 2]}", `case.yaml:1:73: the pump is running but something is open; isolate the pump and say state: isolated, or close it`},
		"confirmed where":  {triplexHead + "confirmed: [clamp-loose]", `case.yaml:2:13: clamp-loose was confirmed, but where? write "- clamp-loose: 2"; expected one of: 1, 2, 3`},
		"both verdicts":    {triplexHead + "confirmed: [clamp-loose: 2]\nruled-out: [clamp-loose]", `case.yaml:2:26: clamp-loose is confirmed here and ruled out at line 3; keep one`},
		"manual name":      {triplexHead + "manual: {cap-torqe: 250 ft lbf}", `case.yaml:2:10: unknown figure "cap-torqe"; expected one of: cap-torque; did you mean cap-torque?`},
		"manual unit":      {triplexHead + "manual: {cap-torque: 250 psi}", `case.yaml:2:22: "250 psi" is a pressure; expected a torque`},
		"cylinder names":   {"pump: {action: duplex-double-acting, state: stopped, cylinders: [a]}", `case.yaml:1:65: a duplex-double-acting pump has 2 cylinders; read 1 names`},
		"reserved name":    {"pump: {action: duplex-double-acting, state: stopped, cylinders: [a, top]}", `case.yaml:1:69: "top" cannot be a cylinder's name here`},
	} {
		t.Run(name, func(t *testing.T) {
			k, err := parseText(c.text)
			require.Nil(t, k)
			var input *source.InputError
			require.True(t, errors.As(err, &input), "%v", err)
			assert.Contains(t, err.Error(), c.want)
		})
	}
}

func TestAllMistakesAtOnce(t *testing.T) {
	_, err := parseText("pump: {action: triplex-single-acting, state: runing}\nrecent: [x]\nfindings: {nock: present}\n")
	var input *source.InputError
	require.ErrorAs(t, err, &input)
	assert.Len(t, input.Problems, 3)
}

func TestVerdictsAndChecks(t *testing.T) {
	k, err := parseText(duplexHead + "confirmed: [valve-cut: left head, reverse]\nruled-out: [clamp-loose: right, valve-cut: right]\nchecked: {gauge-face: {nothing: [left]}, bump: nothing}\nmanual: {cap-torque: 250 ft lbf}\n")
	require.NoError(t, err)
	assert.Equal(t, []string{"valve-cut left head", "reverse"}, placed(k.Confirmed))
	assert.Equal(t, []string{"clamp-loose right", "valve-cut right head", "valve-cut right crank"}, placed(k.RuledOut))
	assert.Equal(t, []string{"gauge-face left", "bump"}, placed(k.Cleared))
	assert.InDelta(t, 339, k.Manual["cap-torque"].In("N m"), 0.1)
}

func TestWhatMustBeOpenBeforeIsOpenToo(t *testing.T) {
	k, err := parseText("pump: {action: triplex-single-acting, state: isolated, open: [rod-out: 2, cover-off: 3]}")
	require.NoError(t, err)
	assert.Equal(t, []string{"cover-off 2", "rod-out 2", "cover-off 3"}, placed(k.Pump.Open))
}

func placed(list []At) []string {
	var out []string
	for _, at := range list {
		out = append(out, strings.TrimSpace(at.ID+" "+at.Place.String()))
	}
	return out
}

func FuzzParseCase(f *testing.F) {
	for _, seed := range []string{
		triplexHead + "findings: {wiper-leaks: {present: [2], absent: [1, 3]}}",
		duplexHead + "findings: {hiss: {left: suction, absent: [left crank]}}\nconfirmed: [valve-cut: left head]",
		"pump: {action: duplex-double-acting, state: isolated, open: [cover-off: left], cylinders: [a, b]}\nchecked: {bump: nothing}",
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		k, err := parseText(text)
		if (k == nil) != (err != nil) {
			t.Fatal("half an answer")
		}
		if err != nil {
			return
		}
		for _, finding := range k.Findings {
			if len(finding.Over) == 0 {
				t.Fatalf("a finding about nothing: %+v", finding)
			}
		}
	})
}
