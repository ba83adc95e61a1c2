package engine

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"telltale/engine/chances"
	"telltale/engine/noisyor"
	"telltale/evidence"
	"telltale/rules"
)

// builtInDraft is a case that fits the built-in book, with its findings line by
// line so that they can be written in another order.
type builtInDraft struct {
	head     string
	findings []string
	layout   evidence.Layout
	free     []*rules.Sign // that nothing was said of
}

func (d *builtInDraft) text(findings []string) string {
	if len(findings) == 0 {
		return d.head
	}
	return d.head + "findings:\n" + strings.Join(findings, "")
}

func (d *builtInDraft) parse(t require.TestingT, book *rules.Book, findings []string) *evidence.Case {
	text := d.text(findings)
	k, err := evidence.ParseCase("drawn.yaml", []byte(text), book.Vocabulary())
	require.NoError(t, err, text)
	return k
}

func drawBuiltIn(t *rapid.T, book *rules.Book, most int) *builtInDraft {
	action := evidence.Action(rapid.SampledFrom(evidence.Actions()).Draw(t, "action"))
	d := &builtInDraft{layout: evidence.Layout{Action: action, Cylinders: evidence.DefaultCylinders(action)}}
	d.head = fmt.Sprintf("pump: {action: %s, state: %s}\nrecent: [%s]\n", action, rapid.SampledFrom(evidence.PumpStates()).Draw(t, "state"),
		strings.Join(rapid.SliceOfNDistinct(rapid.SampledFrom(book.Works.IDs()), 0, 2, rapid.ID[string]).Draw(t, "recent"), ", "))
	words := book.Vocabulary()
	pump := &evidence.Pump{Layout: d.layout, State: evidence.Running}
	var fit []*rules.Sign
	for _, s := range book.Signs.List {
		if w := words.Signs[s.ID]; w.Applies == nil || w.Applies(pump) {
			fit = append(fit, s)
		}
	}
	said := map[string]bool{}
	for range rapid.IntRange(0, most).Draw(t, "findings") {
		s := rapid.SampledFrom(fit).Draw(t, "sign")
		if !said[s.ID] {
			said[s.ID] = true
			d.findings = append(d.findings, d.finding(t, s))
		}
	}
	for _, s := range fit {
		if !said[s.ID] {
			d.free = append(d.free, s)
		}
	}
	return d
}

// finding draws what is said of one sign.
func (d *builtInDraft) finding(t *rapid.T, s *rules.Sign) string {
	answers := append([]string{"present", "absent", "absent"}, s.KindIDs()...)
	if s.Level == evidence.OfPump || rapid.IntRange(0, 3).Draw(t, "vague") == 0 {
		return fmt.Sprintf("  %s: %s\n", s.ID, rapid.SampledFrom(answers).Draw(t, "answer"))
	}
	var parts []string
	for _, p := range d.layout.Places(s.Level) {
		if rapid.Bool().Draw(t, "said here") {
			parts = append(parts, fmt.Sprintf("%q: %s", p.String(), rapid.SampledFrom(answers).Draw(t, "answer")))
		}
	}
	return fmt.Sprintf("  %s: {%s}\n", s.ID, strings.Join(parts, ", "))
}

func builtIn(t require.TestingT) *rules.Book {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	return book
}

// cannotBe says whether an error is one that a drawn case may have.
func cannotBe(err error) bool {
	var impossible *chances.ImpossibleError
	var wide *noisyor.TooWideError
	return errors.As(err, &impossible) || errors.As(err, &wide) || errors.Is(err, chances.ErrTooUnlikely)
}

// answered draws a case of the built-in book that can be weighed.
func answered(t *rapid.T, book *rules.Book, most int) (*builtInDraft, *Report) {
	d := drawBuiltIn(t, book, most)
	r, err := Diagnose(book, d.parse(t, book, d.findings))
	if cannotBe(err) {
		t.Skip(err)
	}
	require.NoError(t, err)
	return d, r
}

// asJSON gives a report as plain values that do not lean on the order of the
// case file: what points to a finding holds the finding itself for its number.
func asJSON(t require.TestingT, r *Report) any {
	text, err := json.Marshal(r)
	require.NoError(t, err)
	var out map[string]any
	require.NoError(t, json.Unmarshal(text, &out))
	found := out["findings"].([]any)
	said := map[any]string{}
	for _, f := range found {
		f := f.(map[string]any)
		number := f["number"]
		delete(f, "number")
		said[number] = fmt.Sprint(f)
		f["all"] = said[number]
	}
	pointers := [][]any{out["unexplained"].([]any)}
	for _, c := range out["causes"].([]any) {
		pointers = append(pointers, c.(map[string]any)["for"].([]any), c.(map[string]any)["against"].([]any))
	}
	for _, list := range pointers {
		for _, p := range list {
			p := p.(map[string]any)
			p["finding"] = said[p["finding"]] + fmt.Sprint(p["cylinder"], p["end"])
		}
		sortBy(list, "finding")
	}
	sortBy(found, "all")
	return out
}

func sortBy(items []any, key string) {
	sort.SliceStable(items, func(i, j int) bool {
		return items[i].(map[string]any)[key].(string) < items[j].(map[string]any)[key].(string)
	})
}

// alike compares plain values; numbers may differ by a rounding.
func alike(t require.TestingT, path string, a, b any) {
	switch x := a.(type) {
	case map[string]any:
		y, ok := b.(map[string]any)
		require.True(t, ok && len(x) == len(y), "%s: %v and %v", path, a, b)
		for k := range x {
			alike(t, path+"."+k, x[k], y[k])
		}
	case []any:
		y, ok := b.([]any)
		require.True(t, ok && len(x) == len(y), "%s: %v and %v", path, a, b)
		for i := range x {
			alike(t, fmt.Sprintf("%s[%d]", path, i), x[i], y[i])
		}
	case float64:
		y, ok := b.(float64)
		require.True(t, ok && math.Abs(x-y) <= 1e-12*math.Max(1, math.Abs(x)), "%s: %v and %v", path, a, b)
	default:
		require.Equal(t, a, b, path)
	}
}

// In which order the crew wrote its findings down does not matter, to the last
// digit.
func TestTheOrderOfTheFileDoesNotMatter(t *testing.T) {
	book := builtIn(t)
	rapid.Check(t, func(t *rapid.T) {
		d, r := answered(t, book, 7)
		other := rapid.Permutation(d.findings).Draw(t, "order")
		again, err := Diagnose(book, d.parse(t, book, other))
		require.NoError(t, err)
		require.Equal(t, asJSON(t, r), asJSON(t, again))
	})
}

// "Unknown" says nothing: the answer is that of a case without the line. Only
// the question is not put again.
func TestUnknownIsNoFinding(t *testing.T) {
	book := builtIn(t)
	rapid.Check(t, func(t *rapid.T) {
		d, r := answered(t, book, 5)
		lines := append([]string{}, d.findings...)
		unknown := map[string]bool{}
		for _, s := range rapid.SliceOfNDistinct(rapid.SampledFrom(d.free), 1, 4, func(s *rules.Sign) string { return s.ID }).Draw(t, "unknown") {
			unknown[s.ID] = true
			lines = append(lines, fmt.Sprintf("  %s: unknown\n", s.ID))
		}
		again, err := Diagnose(book, d.parse(t, book, lines))
		require.NoError(t, err)
		for _, q := range again.Ask {
			require.False(t, unknown[q.Sign], "%s is unknown and asked for", q.Sign)
		}
		for _, one := range []*Report{r, again} { // what no question can bring changes nothing
			one.Ask = nil
			one.Haste.ChangesIf = slices.DeleteFunc(one.Haste.ChangesIf, func(c chances.HasteChange) bool { return c.If == chances.ChangeAnswer })
		}
		alike(t, "report", asJSON(t, r), asJSON(t, again))
	})
}

// Every chance of a report is one, and what holds several causes is at least as
// likely as each of them.
func lawsOfChances(t require.TestingT, r *Report) {
	const least, most = 0.0, 1 + 1e-12
	chance := func(p float64, what string) {
		require.True(t, p >= least && p <= most, "%s: %g is no chance", what, p)
	}
	best, any := map[string]float64{}, 0.0
	for _, c := range r.Causes {
		chance(c.Probability, c.Cause)
		best[c.Group] = math.Max(best[c.Group], c.Probability)
		any = math.Max(any, c.Probability)
	}
	for _, g := range r.Groups {
		chance(g.Probability, g.Group)
		require.GreaterOrEqual(t, g.Probability, best[g.Group]-1e-12, "group %s and its likeliest cause", g.Group)
	}
	chance(r.NoneOfThese, "none of these")
	require.LessOrEqual(t, r.NoneOfThese, 1-any+1e-12, "none, and the likeliest")
	chance(r.NotInSteps, "not in the steps")
	found := 0.0
	for _, s := range r.Steps {
		chance(s.FoundByHere, s.ID)
		require.GreaterOrEqual(t, s.FoundByHere, found-1e-12, "what was found is lost at %s", s.ID)
		found = s.FoundByHere
	}
	points := func(number int) {
		require.True(t, number > 0 && number <= len(r.Found) && r.Found[number-1].Number == number, "finding %d of %d", number, len(r.Found))
	}
	for _, u := range r.Unexplained {
		chance(u.Probability, "unexplained")
		points(u.Finding)
	}
	for _, c := range r.Causes {
		for _, reason := range slices.Concat(c.For, c.Against) {
			points(reason.Finding)
		}
	}
	if f := r.Firmness; f != nil {
		chance(f.Low, "low")
		chance(f.High, "high")
		require.LessOrEqual(t, f.Low, f.High)
		require.LessOrEqual(t, f.StaysFirst, f.Books)
		require.Equal(t, r.Causes[0].Cause+r.Causes[0].Cylinder+r.Causes[0].End, f.Cause+f.Cylinder+f.End, "the first cause")
	}
	for _, q := range r.Ask {
		require.True(t, q.Bits >= 0 && !math.IsInf(q.Bits, 0), "%s: %g bits", q.Sign, q.Bits)
	}
}

func TestChancesOfTheBuiltInBook(t *testing.T) {
	book := builtIn(t)
	rapid.Check(t, func(t *rapid.T) {
		_, r := answered(t, book, 9)
		lawsOfChances(t, r)
	})
}

// someOf is the chance that one at least of the linked causes is there.
func someOf(t *rapid.T, p *noisyor.Problem, linked []noisyor.Link, all noisyor.Answer) float64 {
	o := noisyor.Observation{Background: noisyor.Yield{Yes: 0, No: 1}}
	for _, l := range linked {
		o.Links = append(o.Links, noisyor.Link{Source: l.Source, Yield: noisyor.Yield{Yes: 1, No: 0}})
	}
	p.Present = append(slices.Clip(p.Present), o)
	var s noisyor.Solver
	some, err := s.Evidence(p)
	if !errors.Is(err, noisyor.ErrImpossible) {
		require.NoError(t, err)
	}
	return min(1, some/all.Evidence)
}

// What an absent sign does to the causes that would show it. It multiplies the
// weight of a state of the pump by the chance that the causes there are silent,
// which is 1 where none of them is there and less elsewhere. So, of each way in
// which they came,
//
//   - that one of them at least is there never becomes likelier, whatever else
//     was seen; and if only one cause shows the sign, that cause never does;
//   - while no sign is present, none of them becomes likelier.
//
// More is not true: beside a sign that is present, an absent one can raise a
// cause by speaking harder against its rival. See
// TestAbsentObservationRaisesTheCauseItSpeaksLessAgainst in noisyor.
func lawsOfAbsence(t *rapid.T, m *chances.Model) (raised bool) {
	before, err := m.Solve()
	if err != nil {
		t.Skip(err)
	}
	s := rapid.SampledFrom(m.Book.Signs.List).Draw(t, "absent")
	places := m.Case.Pump.Places(s.Level)
	over := rapid.SliceOfNDistinct(rapid.SampledFrom(places), 1, len(places), rapid.ID[evidence.Place]).Draw(t, "where")
	absent, with := m.Observe(s, "", over), m.Problem()
	with.Absent = append(with.Absent, absent)
	linked, present := absent.Links, len(with.Present) > 0
	var solver noisyor.Solver
	after, err := solver.Solve(with)
	if err != nil || after.Evidence == 0 {
		t.Skip(err)
	}
	require.LessOrEqual(t, someOf(t, with, linked, after), someOf(t, m.Problem(), linked, before.Answer)+1e-12, "one of the causes of %s", s.ID)
	for _, l := range linked {
		up := after.Sources[l.Source] > before.Sources[l.Source]+1e-12
		require.False(t, up && (!present || len(linked) == 1), "the absence of %s raises its source %d from %g to %g", s.ID, l.Source, before.Sources[l.Source], after.Sources[l.Source])
		raised = raised || up
	}
	return raised
}

func TestAnAbsentSignOfTheBuiltInBook(t *testing.T) {
	book := builtIn(t)
	raised := 0
	rapid.Check(t, func(t *rapid.T) {
		d := drawBuiltIn(t, book, 6)
		if lawsOfAbsence(t, chances.New(book, d.parse(t, book, d.findings))) {
			raised++
		}
	})
	t.Log("cases in which an absent sign raised a cause that shows it:", raised)
}

// The same in drawn books, and against the enumeration of every state.
func TestAnAbsentSignOfDrawnBooks(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawBook.Draw(t, "book")
		book := d.load()
		k := drawCase(t, d, book)
		lawsOfAbsence(t, chances.New(book, k))
		s := rapid.SampledFrom(book.Signs.List).Draw(t, "sign")
		at := rapid.SampledFrom(k.Pump.Places(s.Level)).Draw(t, "at")
		with := *k
		with.Findings = append(append([]evidence.Finding{}, k.Findings...), evidence.Finding{Sign: s.ID, Answer: evidence.Absent, At: at, Over: []evidence.Place{at}})
		before, after := chances.New(book, k), chances.New(book, &with)
		if len(before.Causes) > 12 {
			t.Skip("too many causes to enumerate")
		}
		a, b := someShow(before, s.ID, at), someShow(after, s.ID, at)
		if math.IsNaN(a) || math.IsNaN(b) {
			t.Skip("impossible evidence")
		}
		require.LessOrEqual(t, b, a+1e-9)
	})
}

// someShow is the chance that a cause is there which can show the sign at a
// place, by enumeration.
func someShow(m *chances.Model, sign string, at evidence.Place) float64 {
	some, all := 0.0, 0.0
	for state := range 1 << len(m.Causes) {
		mass, shown := 1.0, false
		for i, in := range m.Causes {
			if state>>i&1 == 0 {
				mass *= 1 - in.Prior
				continue
			}
			mass *= in.Prior
			for _, link := range in.Cause.LinksFor(m.Case, m.Book) {
				shown = shown || link.Sign == sign && in.Place.Touches(at)
			}
		}
		for _, f := range m.Case.Findings {
			mass *= chanceOf(m, f, state)
		}
		all += mass
		if shown {
			some += mass
		}
	}
	return some / all
}
