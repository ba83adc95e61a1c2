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
		Signs: map[string]SignWord{
			"wiper-leaks":   {Level: OfCylinder, Kinds: []string{"again", "first"}},
			"rod-worn":      {Level: OfCylinder, Kinds: []string{"underside", "top"}},
			"knock":         {Level: OfPump},
			"hiss":          {Level: OfChamber, Kinds: []string{"suction", "discharge"}},
			"packing-leaks": {Level: OfCylinder, Applies: onDuplex},
		},
		Causes:   map[string]Level{"clamp-loose": OfCylinder, "reverse": OfPump, "valve-cut": OfChamber},
		Checks:   map[string]Level{"gauge-face": OfCylinder, "bump": OfPump},
		Openings: map[string]OpeningWord{"cover-off": {Level: OfCylinder}, "rod-out": {Level: OfCylinder, Needs: []string{"cover-off"}}},
		Works:    []string{"valves-changed"},
		Muds:     []string{"oil-mud", "water"},
		Limits:   map[string]Dimension{"cap-torque": Torque},
		Parts:    map[string]PartWord{"piston": {Level: OfCylinder}, "valve": {Level: OfChamber}, "packing": {Level: OfCylinder, Applies: onDuplex}, "relief-pin": {Level: OfPump}},
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
		s := f.Sign + " " + string(f.Answer)
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
		"somewhere else":   {triplexHead + "findings: {rod-worn: {present: somewhere, absent: [1]}}", []string{"rod-worn present [2|3]", "rod-worn absent [1]"}},
		"somewhere, kinds": {triplexHead + "findings: {rod-worn: {top: [somewhere, 2], absent: [1]}}", []string{"rod-worn present top [2]", "rod-worn absent [1]"}},
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
		"empty":                         {"", "missing | case.yaml:1:1: the case is empty; expected at least pump: with action: and state:"},
		"no pump":                       {"findings: {}", `missing | case.yaml:1:1: the case has no "pump"`},
		"unknown key":                   {triplexHead + "finding: {}", `unknown-key | case.yaml:2:1: the case has no key "finding"; did you mean findings?`},
		"action":                        {"pump: {action: triplex, state: running}", `unknown-name | case.yaml:1:16: unknown action "triplex"; expected one of: duplex-double-acting, triplex-single-acting; did you mean triplex-single-acting?`},
		"state missing":                 {"pump: {action: triplex-single-acting}", `missing | case.yaml:1:7: the pump has no "state"`},
		"unit":                          {"pump: {action: triplex-single-acting, state: running, liner: 40 psi}", `wrong-unit | case.yaml:1:62: "40 psi" is a pressure; expected a length of zero or more with its unit (cm, ft, in, m, mm, thou, µm)`},
		"nothing":                       {"pump: {action: triplex-single-acting, state: running, liner: 0 in}", `out-of-range | case.yaml:1:62: "0 in" is zero; expected more than zero`},
		"liner in cm":                   {"pump: {action: triplex-single-acting, state: running, liner: 165 cm}", `out-of-range | case.yaml:1:62: a liner of 165 cm is too large for a mud pump; is the unit right?`},
		"stroke in ft":                  {"pump: {action: triplex-single-acting, state: running, stroke: 18 ft}", `out-of-range | case.yaml:1:63: a stroke of 18 ft is too long for a mud pump; is the unit right?`},
		"thick rod":                     {"pump: {action: duplex-double-acting, state: running, liner: 2 in, piston-rod: 2 1/2 in}", `does-not-fit | case.yaml:1:79: a piston rod of 2 1/2 in does not fit in a liner of 2 in`},
		"short connecting":              {"pump: {action: triplex-single-acting, state: running, stroke: 12 in, connecting-rod: 6 in}", `does-not-fit | case.yaml:1:86: a connecting rod of 6 in (152.4 mm) is too short for a stroke of 12 in (304.8 mm)`},
		"connecting rod near the crank": {"pump: {action: triplex-single-acting, state: running, stroke: 11 in, connecting-rod: 5.6 in}", `does-not-fit | case.yaml:1:86: a connecting rod of 5.6 in (142.2 mm) is too short for a stroke of 11 in (279.4 mm)`},
		"work":                          {triplexHead + "recent: [valve-changed: {cured: no}]", `unknown-name | case.yaml:2:10: unknown recent work "valve-changed"; expected one of: valves-changed; did you mean valves-changed?`},
		"work's key":                    {triplexHead + "recent: [valves-changed: {cure: no}]", `unknown-key | case.yaml:2:27: valves-changed has no key "cure"; expected one of: at, cured, done; did you mean cured?`},
		"work's answer":                 {triplexHead + "recent: [valves-changed: {cured: perhaps}]", `unknown-name | case.yaml:2:34: unknown answer "perhaps"; expected one of: no, yes`},
		"work's time":                   {triplexHead + "recent: [valves-changed: {done: after}]", `unknown-name | case.yaml:2:33: unknown time of a work "after"; expected one of: after-trouble, before-trouble; did you mean after-trouble?`},
		"work's place":                  {triplexHead + "recent: [valves-changed: {at: 4}]", `unknown-place | case.yaml:2:31: this pump has no cylinder "4"; expected one of: 1, 2, 3`},
		"cured beforehand":              {triplexHead + "recent: [valves-changed: {done: before-trouble, cured: no}]", `excludes | case.yaml:2:56: valves-changed was done before the trouble began, so it cannot have cured it; keep done: or cured:`},
		"cured twice":                   {triplexHead + "recent: [valves-changed: {cured: no}, valves-changed: {cured: yes, at: 2}]", `twice | case.yaml:2:39: valves-changed with cured: stands twice here; keep one`},
		"work as a number":              {triplexHead + "recent: [valves-changed: 2]", `wrong-form | case.yaml:2:26:`},
		"sign":                          {triplexHead + "findings: {wiper-leak: present}", `unknown-name | case.yaml:2:12: unknown sign "wiper-leak"; expected one of: hiss, knock, packing-leaks, rod-worn, wiper-leaks; did you mean wiper-leaks?`},
		"other pump":                    {triplexHead + "findings: {packing-leaks: present}", `does-not-fit | case.yaml:2:12: packing-leaks cannot be seen on a triplex-single-acting pump`},
		"cylinder":                      {triplexHead + "findings: {wiper-leaks: {present: [4]}}", `unknown-place | case.yaml:2:36: "4" is neither a cylinder of this pump nor an answer; expected one of: 1, 2, 3, absent, again, first, present, unknown`},
		"end on triplex":                {triplexHead + "findings: {hiss: {2 head: suction}}", `unknown-place | case.yaml:2:19: "2 head" is neither a cylinder of this pump nor an answer`},
		"end too fine":                  {duplexHead + "findings: {packing-leaks: {present: [left head]}}", `wrong-place | case.yaml:2:38: "left head" names one end, but this belongs to the whole cylinder; write left`},
		"pump too fine":                 {triplexHead + "findings: {knock: {2: present}}", `wrong-place | case.yaml:2:19: knock belongs to the whole pump; write one answer, without cylinders`},
		"contradiction":                 {triplexHead + "findings: {wiper-leaks: {present: [2], absent: [2]}}", `excludes | case.yaml:2:49: wiper-leaks of 2 is absent here and present at line 2; keep one`},
		"two kinds":                     {triplexHead + "findings:\n  rod-worn:\n    2: top\n    underside: [2]", `excludes | case.yaml:5:17: rod-worn of 2 is underside here and top at line 4; one finding has one kind`},
		"others twice":                  {triplexHead + "findings: {rod-worn: {present: others, absent: others}}", `twice | case.yaml:2:48: others stands twice; it is said first at line 2`},
		"two vague kinds":               {duplexHead + "findings: {hiss: {suction: [left], discharge: [left]}}", `excludes | hiss of left is discharge here and suction at line 2; name the end or cylinder of each`},
		"nowhere left":                  {duplexHead + "findings: {hiss: {left: suction, absent: [left head, left crank]}}", `excludes | case.yaml:2:19: hiss is present of left here, but every place there is known not to show it; keep one`},
		"somewhere not":                 {triplexHead + "findings: {rod-worn: {absent: somewhere}}", `unknown-place | "somewhere" is neither a cylinder of this pump nor an answer`},
		"somewhere full":                {triplexHead + "findings: {rod-worn: {top: somewhere, absent: others}}", `excludes | rod-worn is present here, but every place there is known not to show it; keep one`},
		"answer":                        {triplexHead + "findings: {knock: yes}", `unknown-name | case.yaml:2:19: unknown answer "yes"; expected one of: absent, present, unknown`},
		"duplicate":                     {triplexHead + "findings:\n  knock: present\n  knock: absent\n", `twice | case.yaml:4:3: key "knock" stands twice; it stands first at line 3`},
		"recent":                        {triplexHead + "recent: [valve-changed]", `unknown-name | case.yaml:2:10: unknown recent work "valve-changed"; expected one of: valves-changed; did you mean valves-changed?`},
		"open but running":              {"pump: {action: triplex-single-acting, state: running, open: [cover-off: 2]}", `excludes | case.yaml:1:73: the pump is running but something is open; isolate the pump and say state: isolated, or close it`},
		"confirmed where":               {triplexHead + "confirmed: [clamp-loose]", `wrong-place | case.yaml:2:13: clamp-loose was confirmed, but where? write "- clamp-loose: 2"; expected one of: 1, 2, 3`},
		"both verdicts":                 {triplexHead + "confirmed: [clamp-loose: 2]\nruled-out: [clamp-loose]", `excludes | case.yaml:2:26: clamp-loose is confirmed here and ruled out at line 3; keep one`},
		"brought on":                    {triplexHead + "confirmed: [clamp-loose: 2]\nbrought-on-by: [{failed: {clamp-loose: 1}, by: reverse}]", `needs-other | case.yaml:3:40: clamp-loose of 1 is brought on here but not confirmed; write it there first`},
		"brought on by":                 {triplexHead + "confirmed: [clamp-loose: 2]\nbrought-on-by: [{failed: {clamp-loose: 2}, by: nothin}]", `unknown-name | case.yaml:3:48: unknown cause "nothin"; expected one of: clamp-loose, nothing, reverse, valve-cut; did you mean nothing?`},
		"brought on where":              {triplexHead + "confirmed: [clamp-loose: 2]\nbrought-on-by: [{failed: {clamp-loose: 2}, by: clamp-loose}]", `wrong-place | case.yaml:3:48: clamp-loose: at which one place? write "clamp-loose: 1"`},
		"brought on, or not":            {triplexHead + "confirmed: [clamp-loose: 2]\nbrought-on-by:\n  - {failed: {clamp-loose: 2}, by: reverse}\n  - {failed: {clamp-loose: 2}, by: nothing}", `excludes | case.yaml:5:28: clamp-loose of 2 was brought on by something and by nothing (line 4 too); keep one`},
		"brought on itself":             {triplexHead + "confirmed: [clamp-loose: 2]\nbrought-on-by: [{failed: {clamp-loose: 2}, by: {clamp-loose: 2}}]", `does-not-fit | case.yaml:3:62: clamp-loose of 2 did not bring itself on; name what did, or write by: nothing`},
		"brought on, out":               {triplexHead + "confirmed: [clamp-loose: 2]\nruled-out: [reverse]\nbrought-on-by: [{failed: {clamp-loose: 2}, by: reverse}]", `excludes | case.yaml:4:48: reverse is ruled out, so it brought nothing on; keep one`},
		"manual name":                   {triplexHead + "manual: {cap-torqe: 250 ft lbf}", `unknown-name | case.yaml:2:10: unknown figure "cap-torqe"; expected one of: cap-torque; did you mean cap-torque?`},
		"manual unit":                   {triplexHead + "manual: {cap-torque: 250 psi}", `wrong-unit | case.yaml:2:22: "250 psi" is a pressure; expected a torque`},
		"cylinder names":                {"pump: {action: duplex-double-acting, state: stopped, cylinders: [a]}", `wrong-form | case.yaml:1:65: a duplex-double-acting pump has 2 cylinders; read 1 names`},
		"reserved name":                 {"pump: {action: duplex-double-acting, state: stopped, cylinders: [a, top]}", `bad-name | case.yaml:1:69: "top" cannot be a cylinder's name here`},
		"invisible letter":              {"pump: {action: duplex-double-acting, state: stopped, cylinders: [a, a\u202e]}", `bad-name | case.yaml:1:69: "a\u202e" cannot be a cylinder's name: it must be told apart on paper; expected 60 letters at most, none of them invisible`},
		"endless name":                  {"pump: {action: duplex-double-acting, state: stopped, cylinders: [a, " + strings.Repeat("b", 61) + "]}", `bad-name | case.yaml:1:69: "` + strings.Repeat("b", 57) + `..." cannot be a cylinder's name`},
		"blanks alike":                  {"pump: {action: duplex-double-acting, state: stopped, cylinders: [No 1, No  1]}", `bad-name | case.yaml:1:72: "No 1" cannot be a cylinder's name here`},
		"name of an end":                {"pump: {action: duplex-double-acting, state: stopped, cylinders: [left, left head]}", `bad-name | case.yaml:1:66: the head end of "left" would be written "left head", which is another cylinder's name; give one of the two another name`},
	} {
		t.Run(name, func(t *testing.T) {
			k, err := parseText(c.text)
			require.Nil(t, k)
			var input *source.InputError
			require.True(t, errors.As(err, &input), "%v", err)
			mistaken(t, err, c.want)
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
		triplexHead + wholeRod,
		triplexHead + "recent: [valves-changed: {done: after-trouble, cured: no, at: 2}]",
		gaugedText("    before: {discharge: 200 bar, speed: 100 strokes/min}\n    now: {load: 3}\n    two-rates: {slow: {speed: 30 strokes/min, discharge: 20 bar}, fast: {speed: 40 strokes/min, discharge: 21 bar}}\n"),
		sizedTriplex + "measured: {upper-guide: {1: {resolution: 0.05 mm, rear: 0.50 to 0.55 mm}}, fluid-end-gap: {resolution: 1 thou, top-left: 1 thou}, liner-bore: {2: {resolution: 1 thou, stations: [{across: 6 in}]}}}",
		sizedTriplex + "measured: {tank-test: {strokes: 510, strokes-within: 1, volume: 40.5 bbl, volume-within: 0.5 bbl}}",
		triplexHead + "suction-line: {mud-weight: 12 lb/gal, mud-above-pump: 4 ft, pipes: [{length: 20 ft, bore: 10 in}]}",
		triplexHead + "parts: {piston: {from: 0 h, to: 2000 h, expected-life: 700 h, changed-at: {1: [150 h, 420 h], 3: [9 h]}}}",
		duplexHead + "parts: {valve: {from: 0 h, to: 2000 h, changed-at: {left head: [150 h]}}}",
		triplexHead + "shims-on-hand: [1 thou, 0.05 mm, {nominal: 50 thou, measures: 48 thou, pieces: 2}]",
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		k, err := parseText(text)
		if (k == nil) != (err != nil) {
			t.Fatal("half an answer")
		}
		if err != nil {
			knownCodes(t, err)
			return
		}
		for _, finding := range k.Findings {
			if len(finding.Over) == 0 {
				t.Fatalf("a finding about nothing: %+v", finding)
			}
		}
		lawsOfMeasured(t, k)
	})
}

// lawsOfMeasured are what a case that was read promises to those who work its
// readings out.
func lawsOfMeasured(t *testing.T, k *Case) {
	m := &k.Measured
	reading := func(r *Reading, most float64) {
		if r != nil && !(r.Low >= 0 && r.Low <= r.High && r.High <= most && r.Pos.Line > 0) {
			t.Fatalf("a reading of %+v", *r)
		}
	}
	method := func(place Place, how Method) {
		if !(how.Resolution.SI > 0 && how.Resolution.SI <= coarsest) {
			t.Fatalf("readings of %q taken to %g m", place, how.Resolution.SI)
		}
	}
	for _, rod := range m.RodInOpening {
		method(rod.Place, rod.Method)
		for _, p := range rod.Planes {
			if !p.Back.Any() && !p.Middle.Any() && !p.Front.Any() || len(rod.Planes) > 1 && p.At == nil {
				t.Fatalf("a plane that is of no use: %+v", rod)
			}
			for _, s := range []Sides{p.Back, p.Middle, p.Front} {
				for _, r := range []*Reading{s.Top, s.Bottom, s.Left, s.Right} {
					reading(r, mostClearance)
				}
			}
		}
		if (rod.RearSupport == nil) != (rod.FrontSupport == nil) || (rod.Opening == nil) != (rod.Rod == nil) {
			t.Fatalf("half a pair: %+v", rod)
		}
	}
	points := append(append([]Points{}, m.UpperGuide...), m.RodFaceGap...)
	if m.FluidEndGap != nil {
		points = append(points, *m.FluidEndGap)
	}
	for i := range points {
		method(points[i].Place, points[i].Method)
		if len(points[i].List) == 0 {
			t.Fatal("points without a reading")
		}
		for j := range points[i].List {
			reading(&points[i].List[j].Reading, mostClearance)
		}
	}
	for _, list := range [][]Survey{m.LinerBore, m.PistonRod, m.ExtensionRod} {
		for _, s := range list {
			method(s.Place, s.Method)
			if len(s.Stations) == 0 {
				t.Fatal("a survey without a station")
			}
			for _, d := range s.Stations {
				if d.UpDown == nil && d.Across == nil {
					t.Fatal("a station without a diameter")
				}
				reading(d.UpDown, mostDiameter)
				reading(d.Across, mostDiameter)
			}
		}
	}
	lawsOfRecords(t, k)
}

func lawsOfRecords(t *testing.T, k *Case) {
	m := &k.Measured
	if test := m.TankTest; test != nil && !(test.Strokes >= 1 && test.StrokesWithin < test.Strokes && test.VolumeWithin != nil && test.VolumeWithin.SI < test.Volume.SI && k.Pump.Liner != nil && k.Pump.Stroke != nil) {
		t.Fatalf("a tank test of %+v", test)
	}
	if s := m.Suction; s != nil && (s.MudWeight == nil || s.MudAbove != nil && s.MudBelow != nil) {
		t.Fatalf("a suction of %+v", s)
	}
	for _, rec := range m.PartRecords {
		seen := map[Place]bool{}
		for _, r := range rec.Replaced {
			if seen[r.Place] {
				t.Fatalf("%s of %s stands twice", rec.Part, r.Place)
			}
			seen[r.Place] = true
			for i, at := range r.At {
				if at.SI <= rec.From.SI || at.SI > rec.To.SI || i > 0 && at.SI < r.At[i-1].SI {
					t.Fatalf("%s changed at %s in a record from %s to %s", rec.Part, at.Written, rec.From.Written, rec.To.Written)
				}
			}
		}
	}
	if len(m.ShimsOnHand) > MostShims {
		t.Fatal("too many shims")
	}
	for _, s := range m.ShimsOnHand {
		if !(s.Nominal.SI >= thinnest && s.Nominal.SI <= mostClearance && s.Pieces >= 0) {
			t.Fatalf("a shim of %+v", s)
		}
	}
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

// knownCodes wants every mistake to have a code and its line.
func knownCodes(t *testing.T, err error) {
	t.Helper()
	var input *source.InputError
	require.ErrorAs(t, err, &input)
	for _, p := range input.Problems {
		require.Contains(t, source.Codes(), p.Code, "%v", p)
		require.True(t, p.Mark >= 1 || p.Code == source.TooLarge, "%v has no line", p)
	}
}

func TestWhatBroughtItOn(t *testing.T) {
	k, err := parseText(triplexHead + "confirmed: [clamp-loose: 2, clamp-loose: 1]\nbrought-on-by:\n  - {failed: {clamp-loose: 2}, by: reverse}\n  - {failed: {clamp-loose: 1}, by: nothing}\n")
	require.NoError(t, err)
	require.Len(t, k.BroughtOn, 2)
	assert.Equal(t, "clamp-loose", k.BroughtOn[0].Failed.ID)
	assert.Equal(t, "2", k.BroughtOn[0].Failed.Place.Cylinder)
	assert.Equal(t, "reverse", k.BroughtOn[0].By.ID)
	assert.Empty(t, k.BroughtOn[1].By.ID)
}
