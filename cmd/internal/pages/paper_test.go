package pages

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/words"
	"telltale/engine"
	"telltale/engine/figures"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

var day = time.Date(2026, 3, 1, 10, 30, 0, 0, time.UTC)

func builtIn(t testing.TB) *rules.Book {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	return book
}

// input works a case out as the command does.
func input(t testing.TB, text string) Input {
	t.Helper()
	book := builtIn(t)
	k, err := evidence.ParseCase("case.yaml", []byte(text), book.Vocabulary())
	require.NoError(t, err)
	plan, err := engine.PlanTeardown(book, k, nil)
	require.NoError(t, err)
	measured, err := engine.Measure(book, k)
	require.NoError(t, err)
	turn, err := figures.GuideTurn(book, k)
	require.NoError(t, err)
	return Input{Book: book, Case: k, Plan: plan, Measured: measured, Turn: turn, Written: day}
}

func html(t testing.TB, p *doc.Document) string {
	var out bytes.Buffer
	require.NoError(t, p.HTML(&out))
	return out.String()
}

// tags parses a page as XML, in which it must be well-formed, and gives the
// names of its elements and all of its text outside the style sheet.
func tags(t testing.TB, page string) (names []string, text string) {
	t.Helper()
	body, ok := strings.CutPrefix(page, "<!DOCTYPE html>")
	require.True(t, ok)
	d := xml.NewDecoder(strings.NewReader(body))
	var words strings.Builder
	style := false
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return names, words.String()
		}
		require.NoError(t, err)
		switch x := token.(type) {
		case xml.StartElement:
			style = x.Name.Local == "style"
			names = append(names, x.Name.Local)
			for _, a := range x.Attr {
				assert.False(t, strings.HasPrefix(a.Name.Local, "on"), "%s has %s", x.Name.Local, a.Name.Local)
				assert.NotContains(t, []string{"src", "href", "style"}, a.Name.Local)
			}
		case xml.CharData:
			if !style {
				words.WriteString(string(x) + " ")
			}
		}
	}
}

func TestReadingsGetALineForEachThing(t *testing.T) {
	assert.Equal(t, doc.Blank{Label: "Back:", Items: []string{"top", "bottom", "left", "right"}}, blankFor("Back: top, bottom, left, right"))
	assert.Equal(t, doc.Blank{Label: "Crosshead at back:", Items: []string{"Rear", "middle", "front"}}, blankFor("Crosshead at back. Rear, middle, front"))
	assert.Equal(t, doc.Blank{Label: "Torque used:", Items: []string{""}}, blankFor("Torque used"))
}

const hostileName = `</style><script>alert('x')</script>"><img src=x onerror=alert(1)> ]]> &lt;i&gt; &#8238;`

// A pump, cylinders, an instrument and a log that are made to break out stay
// text in their place, on every page and in Markdown.
func TestHostileCaseStaysText(t *testing.T) {
	text := `
pump: {name: ` + quote(hostileName) + `, action: triplex-single-acting, state: isolated, liner: 6 in, stroke: 11 in, discharge: 2000 psi,
  cylinders: ["<b>1</b>", "2\" onload=\"x", ` + quote(strings.Repeat("Zylinder", 7)) + `], open: [{crosshead-cover-off: "<b>1</b>"}]}
findings: {wiper-leaks: {again: ["<b>1</b>"]}}
measured:
  rod-in-opening:
    "<b>1</b>": {with: "feelers\u202e <script>", resolution: 1 thou, rod: parted, crosshead: seated, back: {top: 141 thou, bottom: 118 thou}, middle: {top: 141 thou, bottom: 118 thou}, front: {top: 141 thou, bottom: 118 thou}}
log:
  - {at: "10:30 <i>", by: "</td><script>", did: ` + quote("left \u202eback\u200f "+strings.Repeat("W", 300)) + `}
  - {at: "11:00", by: "A\n# Head", did: "one\n\n## Two\n- [x] three | four |"}
`
	in := input(t, text)
	plain := strings.ReplaceAll(text, "<b>1</b>", "1")
	plain = strings.ReplaceAll(plain, `2\" onload=\"x`, "2")
	plain = strings.ReplaceAll(plain, quote(strings.Repeat("Zylinder", 7)), "3")
	plain = strings.ReplaceAll(plain, quote(hostileName), "Pump")
	tame := input(t, plain)
	for name, make := range map[string]func(Input) *doc.Document{"job": JobSheet, "align": Align, "output": Output} {
		t.Run(name, func(t *testing.T) {
			page := html(t, make(in))
			names, words := tags(t, page)
			wanted, _ := tags(t, html(t, make(tame)))
			slices.Sort(names)
			slices.Sort(wanted)
			assert.Equal(t, slices.Compact(wanted), slices.Compact(names), "%s: a text made an element", name)
			assert.Contains(t, words, `</style><script>alert('x')</script>"><img src=x onerror=alert(1)> ]]> &lt;i&gt; &#8238;`, name)
			assert.Equal(t, 1, strings.Count(page, "</style>"), name)
			for _, r := range "\u202e\u200f" {
				assert.NotContains(t, page, string(r), name)
			}
			var md bytes.Buffer
			require.NoError(t, make(in).Markdown(&md))
			assert.NotContains(t, md.String(), "<script", name)
			assert.NotContains(t, md.String(), "\u202e", name)
			assert.NotRegexp(t, `(?m)^(# Head|## Two|- \[x\] three)`, md.String(), name)
		})
	}
}

func quote(s string) string { return `'` + strings.ReplaceAll(s, `'`, `''`) + `'` }

// A local rulebook's words are as strange as a case's.
func TestHostileRulebookStaysText(t *testing.T) {
	in := input(t, "pump: {action: triplex-single-acting, state: running}\nfindings: {knock: once-per-turn}\n")
	const bad = `</p></section><script>1</script>`
	for i := range in.Plan.Steps {
		s := &in.Plan.Steps[i]
		s.Title, s.Do, s.Tools, s.Looks = bad, bad, []string{bad}, []string{bad}
		for n := range s.Results {
			s.Results[n].If, s.Results[n].Then = bad, bad
		}
	}
	for i := range in.Plan.Causes {
		in.Plan.Causes[i].Title = bad
	}
	withTroubles(in.Plan.Report)
	in.Plan.Troubles[0].Wrong.Title = bad
	in.Plan.Told = []work.Told{{Who: bad, Of: bad}}
	names, _ := tags(t, html(t, JobSheet(in)))
	assert.NotContains(t, names, "script")
}

// When the pump is to be left, only the stop and the hand-over stand on the
// sheet.
func TestAStopThatLeavesThePumpHoldsTheRestBack(t *testing.T) {
	p := JobSheet(input(t, "pump: {action: triplex-single-acting, state: running, liner: 6 in, stroke: 11 in, discharge: 2000 psi}\nfindings: {pit-gain: present}\n"))
	var headings []string
	for _, s := range p.Sections {
		headings = append(headings, s.Heading)
	}
	assert.Equal(t, []string{"Stop first", "Do next", "Hand-over"}, headings)
	assert.NotContains(t, html(t, p), "<svg")
}

// onSheet numbers the steps of the list as they stand on a sheet, from its head.
func onSheet(d *doc.Document) (numbers []int) {
	for _, s := range d.Sections {
		if strings.HasPrefix(s.Heading, "Close up") || strings.HasPrefix(s.Heading, "Repair") {
			continue
		}
		for _, part := range s.Parts {
			if part.Step != nil {
				numbers = append(numbers, part.Step.Number)
				for _, n := range sisters.FindAllStringSubmatch(strings.Join(part.Step.Boxes, " ")+strings.Join(doc.Each(part.Step.Blanks, func(b doc.Blank) string { return b.Label }), " "), -1) {
					number, _ := strconv.Atoi(n[1])
					numbers = append(numbers, number)
				}
			}
			if s.Panel && part.Table != nil {
				for _, row := range part.Table.Rows {
					number, _ := strconv.Atoi(row[0].Text)
					numbers = append(numbers, number)
				}
			}
		}
	}
	slices.Sort(numbers)
	return slices.Compact(numbers)
}

var sisters = regexp.MustCompile(`step ([0-9]+)`)

// The stop conditions stand before all else, the looks at the running pump before
// the isolation, this before the first opening, and no step up to the last one on
// paper is missing.
func TestTheSheetGoesInTheOrderOfTheWork(t *testing.T) {
	for name, text := range viewCases(t) {
		t.Run(name, func(t *testing.T) {
			in := input(t, text)
			d := JobSheet(in)
			if in.Plan.LeavePump {
				return
			}
			if len(in.Plan.Stop) > 0 {
				assert.Equal(t, "Stop first", d.Sections[0].Heading)
			}
			j := jobSheet{in}
			p := j.paper()
			assert.Equal(t, numbersOf(p.steps), onSheet(d))
			heads := doc.Each(d.Sections, func(s doc.Section) string { return s.Heading })
			if at := slices.Index(heads, "Isolate before hands go in"); at >= 0 {
				assert.NotContains(t, heads[:at], "Open and look, behind the isolation")
				assert.NotContains(t, heads[at+1:], "Isolate before hands go in", "two panels that each say it is all")
			} else {
				assert.NotContains(t, heads, "Isolate, first part", "there is no rest of it")
			}
			isolated := in.Case.Pump.State == evidence.Isolated
			for _, s := range d.Sections {
				isolated = isolated || s.Heading == "Isolate before hands go in"
				for _, part := range s.Parts {
					if part.Step == nil || part.Step.Number == 0 {
						continue
					}
					i := slices.IndexFunc(p.steps, func(x work.Step) bool { return x.Number == part.Step.Number })
					if i >= 0 && !strings.HasPrefix(s.Heading, "Close up") && (p.steps[i].Kind == work.StepOpening || needsIsolation(&p.steps[i])) {
						assert.True(t, isolated, "step %d comes before the isolation", part.Step.Number)
					}
				}
			}
		})
	}
}

// What the looks and the repairs of a sheet open is closed on it, once, and each
// opening of a repair stands behind the safety steps that it names.
func TestTheSheetClosesWhatItOpens(t *testing.T) {
	for name, text := range viewCases(t) {
		t.Run(name, func(t *testing.T) {
			in := input(t, text)
			if in.Plan.LeavePump || !slices.ContainsFunc(in.Plan.Steps, func(s work.Step) bool { return s.Kind == work.StepReturn }) {
				return
			}
			j := jobSheet{in}
			p := j.paper()
			closed := map[evidence.At]int{}
			for _, s := range p.returns() {
				closed[evidence.At{ID: s.ID, Place: s.Place}]++
			}
			for _, at := range p.opened {
				assert.Equal(t, 1, closed[evidence.At{ID: at.ID, Place: at.Place}], "%v", at)
			}
			seen := doc.Each(p.steps, func(s work.Step) string { return s.ID })
			for _, r := range p.repairs {
				for _, s := range r.opens {
					seen = append(seen, s.ID)
					if s.Kind == work.StepOpening {
						for _, id := range in.Book.Openings.Get(s.ID).Safety {
							assert.Contains(t, seen, id, "before %s", s.Title)
						}
					}
				}
			}
		})
	}
}

// The page of an exercise shows the evidence and the planned order, and says
// what it was told as text.
func TestPracticePageHasItsPictures(t *testing.T) {
	in := input(t, "pump: {action: triplex-single-acting, state: running}\nfindings: {wiper-leaks: {again: [2]}}\n")
	over := PracticeInput{Title: hostileName, Told: []doc.Section{{Heading: "Result", Parts: []doc.Part{doc.Text(hostileName)}}}, Causes: []words.Weighed{words.WeighedCause(in.Plan.Report, in.Plan.Causes[0]), words.WeighedCause(in.Plan.Report, in.Plan.Causes[1])}, Plan: in.Plan.Report, Written: day}
	names, said := tags(t, html(t, Practice(over)))
	assert.NotContains(t, names, "script")
	assert.Contains(t, said, in.Plan.Causes[1].Title)
	assert.Contains(t, said, "minutes of work from the start of the list")
	over.Causes, over.Plan = nil, nil
	assert.NotContains(t, html(t, Practice(over)), "<svg")
}

// Causes that were proved, corrected and looked at again come ticked.
func TestHandOverTicksWhatIsDone(t *testing.T) {
	in := input(t, `
pump: {action: triplex-single-acting, state: isolated, open: [{crosshead-cover-off: 2}]}
findings: {wiper-leaks: {again: [2]}, knock: unknown}
checked: {face-feeler: {nothing: [2], unclear: [3]}}
confirmed: [rod-clamp-misfitted: 2, guide-and-crosshead-worn: 2]
corrected: [rod-clamp-misfitted: 2]
looked-again: [rod-clamp-misfitted: 2]
log: [{at: "10:30", by: Ada, did: Parted the rod}]
`)
	var md bytes.Buffer
	require.NoError(t, JobSheet(in).Markdown(&md))
	text := gaps.ReplaceAllString(md.String(), " ")
	clamp := in.Book.Causes.Get("rod-clamp-misfitted").Title
	guide := in.Book.Causes.Get("guide-and-crosshead-worn").Title
	for _, want := range []string{
		clamp + ", cylinder 2, corrected, looked at again and right", guide + ", cylinder 2, not corrected yet",
		"Looked at, in order: ", "Looked at, not clear: ", "10:30 Ada: Parted the rod",
	} {
		assert.Contains(t, text, want)
	}
}

// Of a text for both kinds of pump a sheet has what is for its own.
func TestASheetIsForOneKindOfPump(t *testing.T) {
	const text = "Support the rod. Triplex: take the clamp off. Duplex: slack the lock. On a duplex use the box. Draw the rods apart."
	assert.Equal(t, "Support the rod. Take the clamp off. Draw the rods apart.", ofKind(text, evidence.Triplex))
	assert.Equal(t, "Support the rod. Slack the lock. Use the box. Draw the rods apart.", ofKind(text, evidence.Duplex))
}

// What is next is read first: it stands in large letters before all but the stop box,
// and names the first step of the sheet.
func TestTheNextActIsReadFirst(t *testing.T) {
	for name, text := range viewCases(t) {
		t.Run(name, func(t *testing.T) {
			in := input(t, text)
			d := JobSheet(in)
			assert.Empty(t, d.Lines)
			at := 0
			if len(in.Plan.Stop) > 0 {
				assert.Equal(t, "Stop first", d.Sections[0].Heading)
				at = 1
			}
			next := d.Sections[at]
			assert.Equal(t, "Do next", next.Heading)
			assert.True(t, next.Parts[0].Large)
			if strings.Contains(strings.Join(next.Parts[0].Text, " "), "step ") {
				assert.Contains(t, next.Parts[0].Text[0], "step 1")
			}
		})
	}
}

// How few lines of a sheet say stop, and how few have a signal word: a mark that stands
// everywhere is not seen. A line holds as many letters as one on paper, about.
const (
	linesToAStop   = 20
	linesToASignal = 15
)

var (
	saysStop   = regexp.MustCompile(`\b(STOP|Stop)\b|\bstop (and|now)\b`)
	saysSignal = regexp.MustCompile(`\b(DANGER|WARNING|CAUTION)\b`)
)

// Of the lines of a sheet one in 20 says stop, at most, and one in 15 has a signal word;
// of its steps one in three has one, or four of a short one.
func TestStopsAndSignalWordsAreFew(t *testing.T) {
	for name, text := range viewCases(t) {
		t.Run(name, func(t *testing.T) {
			d := JobSheet(input(t, text))
			var sheet bytes.Buffer
			require.NoError(t, d.Text(&sheet, lineLetters))
			lines, stops, signals := 0, 0, 0
			for line := range strings.Lines(sheet.String()) {
				if strings.TrimSpace(line) == "" {
					continue
				}
				lines++
				if saysStop.MatchString(line) {
					stops++
				}
				if saysSignal.MatchString(line) {
					signals++
				}
			}
			assert.LessOrEqual(t, stops*linesToAStop, lines, "%d of %d lines say stop", stops, lines)
			assert.LessOrEqual(t, signals*linesToASignal, lines, "%d of %d lines have a signal word", signals, lines)
			steps, marked := 0, 0
			for _, s := range d.Sections {
				for _, part := range s.Parts {
					if s.Panel && part.Table != nil {
						steps += len(part.Table.Rows)
						marked++
					}
					if part.Step != nil {
						steps++
						if part.Step.Signal != "" {
							marked++
						}
					}
				}
			}
			assert.LessOrEqual(t, marked*3, max(steps, 12), "%d of %d steps have a signal word", marked, steps)
			t.Logf("stop: %d of %d lines; a signal word: %d lines, %d of %d steps", stops, lines, signals, marked, steps)
		})
	}
}

// The sheet of a pump that a stop keeps out of service, by a rating alone too, has no
// step that bumps it, starts it or takes a lock off.
func TestASheetStartsNoPumpThatIsKeptOutOfService(t *testing.T) {
	const reverse = "pump: {action: triplex-single-acting, state: stopped}\nrecent: [drive-or-wiring-worked-on]\nfindings: {crosshead-hot: {present: [1, 2, 3]}}\n"
	for name, c := range map[string]struct {
		text   string
		starts bool
	}{
		"nothing holds it":       {"", true},
		"relief set too high":    {"manual: {relief-setting: 3000 psi, line-rated-pressure: 2000 psi}\n", false},
		"the crankshaft cracked": {"confirmed: [crankshaft-cracked]\n", false},
	} {
		page := html(t, JobSheet(input(t, reverse+c.text)))
		for _, words := range []string{"Bump the pump", "Start slow", "Locks off by their owners"} {
			assert.Equal(t, c.starts, strings.Contains(page, words), "%s: %s", name, words)
		}
	}
}
