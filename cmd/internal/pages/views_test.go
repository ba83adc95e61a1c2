package pages

import (
	escapes "html"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/words"
	"telltale/engine"
	"telltale/evidence"
)

// The cases with something proved, which the demo cases do not have.
const (
	triplexProved = "pump: {action: triplex-single-acting, state: isolated}\nfindings: {wiper-leaks: {again: [2], absent: [1, 3]}, rod-worn: {2: underside, absent: others}}\n"
	duplexProved  = "pump: {action: duplex-double-acting, state: stopped}\nfindings: {hiss: {left head: suction-stroke}, packing-fails-early: {present: [right]}}\n"
)

// viewCases are the demo cases and some with causes that are proved.
func viewCases(t *testing.T) map[string]string {
	out := map[string]string{
		"one proved":           triplexProved + "confirmed: [rod-clamp-misfitted: 2]\n",
		"two proved":           triplexProved + "confirmed: [rod-clamp-misfitted: 2, gauge-faulty]\n",
		"one corrected":        triplexProved + "confirmed: [rod-clamp-misfitted: 2]\ncorrected: [rod-clamp-misfitted: 2]\n",
		"looked at again":      triplexProved + "confirmed: [rod-clamp-misfitted: 2]\ncorrected: [rod-clamp-misfitted: 2]\nlooked-again: [rod-clamp-misfitted: 2]\n",
		"more is unexplained":  duplexProved + "confirmed: [suction-valve-cut: left head]\n",
		"proved at two places": duplexProved + "confirmed: [suction-valve-cut: [left head, left crank]]\n",
		"marks in names":       "pump: {name: \"A|B *C* <b>_d_\", action: triplex-single-acting, state: isolated, cylinders: [\"No 1\", \"*2*\", \"<3>\"]}\nfindings: {wiper-leaks: {again: [\"*2*\"]}, rod-worn: {\"<3>\": underside}}\nconfirmed: [rod-clamp-misfitted: \"*2*\"]\n",
		"a part past its life": "pump: {action: triplex-single-acting, state: isolated, open: [piston-out: 1]}\nfindings: {rod-worn: {1: underside}}\nparts: {piston: {from: 4000 h, to: 6000 h, expected-life: 700 h, changed-at: {1: [4600 h]}}}\n",
		"only to be closed up": "pump: {action: triplex-single-acting, state: isolated, open: [crosshead-cover-off: 2]}\nfindings: {load-high: present}\nconfirmed: [pump-set-solid]\ncorrected: [pump-set-solid]\nlooked-again: [pump-set-solid]\n",
		"locks and a dribble":  "pump: {action: triplex-single-acting, state: isolated}\nfindings: {knock: present, bleed-dribbles: discharge}\nlocks: [{on: drive, by: A. Hand, tag: 14}]\nstays-open: [{what: discharge bleed, by: A. Hand}]\n",
	}
	files, err := filepath.Glob("../../../testdata/cases/*.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, file := range files {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		out[filepath.Base(file)] = string(text)
	}
	return out
}

var (
	elements = regexp.MustCompile(`(?s)<style>.*?</style>|<[^>]*>`)
	marks    = regexp.MustCompile(`\\(.)`)
	gaps     = regexp.MustCompile(`\s+`)
)

// bare takes away what lays a view out: lines, bullets, marks and elements.
func bare(view, text string) string {
	switch {
	case strings.Contains(view, "HTML"):
		text = escapes.UnescapeString(elements.ReplaceAllString(text, " "))
	case strings.Contains(view, "Markdown"):
		text = escapes.UnescapeString(marks.ReplaceAllString(strings.ReplaceAll(text, "**", ""), "$1"))
	}
	return gaps.ReplaceAllString(text, " ")
}

// views writes a case in every way that there is.
func views(t *testing.T, in Input, r *engine.Report) map[string]string {
	t.Helper()
	out := map[string]string{}
	for name, write := range map[string]func(w *strings.Builder) error{
		"triage":            func(w *strings.Builder) error { return Triage(r, false).Text(w, 160) },
		"triage Markdown":   func(w *strings.Builder) error { return Triage(r, false).Markdown(w) },
		"teardown":          func(w *strings.Builder) error { return Teardown(in.Plan).Text(w, 160) },
		"teardown Markdown": func(w *strings.Builder) error { return Teardown(in.Plan).Markdown(w) },
		"triage HTML":       func(w *strings.Builder) error { return Triage(r, false).HTML(w) },
		"teardown HTML":     func(w *strings.Builder) error { return Teardown(in.Plan).HTML(w) },
		"sheet":             func(w *strings.Builder) error { return JobSheet(in).Text(w, 160) },
		"sheet HTML":        func(w *strings.Builder) error { return JobSheet(in).HTML(w) },
		"sheet Markdown":    func(w *strings.Builder) error { return JobSheet(in).Markdown(w) },
	} {
		var w strings.Builder
		require.NoError(t, write(&w), name)
		out[name] = bare(name, w.String())
	}
	return out
}

// said is a field of the report that views say, by the commands that do: those
// whose names start so, all of them where it is empty.
type said struct {
	field, command string
	texts          []string
}

// fields lists what the views must hold alike.
func fields(in Input, r *engine.Report) []said {
	out := []said{}
	add := func(command, field string, texts ...string) { out = append(out, said{field, command, texts}) }
	for _, s := range r.Stop {
		add("", "stop", append([]string{s.Title}, s.Do...)...)
	}
	for _, l := range r.Locks {
		add("t", "locks", l.Text)
		add("sheet", "locks", l.On, l.By, l.Tag)
	}
	for _, o := range r.StaysOpen {
		add("t", "stays_open", o.Text)
		add("sheet", "stays_open", o.What, o.By)
	}
	if r.LeavePump {
		return out
	}
	for _, c := range r.Confirmed {
		add("", "confirmed", words.Titled(c.Title, c.Place))
		add("t", "confirmed.roots_left", words.Roots(c.RootsLeft)...)
		if !c.Corrected {
			add("t", "confirmed", slices.Concat([]string{c.Repair, c.LookAgain}, c.Parts, c.BringsOn)...)
			for _, g := range c.Safety {
				add("", "confirmed.safety", g.Title)
			}
		}
	}
	add("", "unexplained", words.Unexplained(r)...)
	if len(r.Confirmed) > 0 && len(r.Unexplained) == 0 {
		add("t", "explained", "explains each sign that was seen")
	}
	if r.Haste != nil {
		add("", "haste", r.Haste.Says)
	}
	for _, c := range r.Contradictions {
		add("", "contradictions", words.Contradiction(c))
	}
	for i := range r.Troubles {
		add("t", "troubles", troubleTexts(r, &r.Troubles[i])...)
		add("t", "troubles", doc.If(len(r.Troubles) > 1, troubleHead(i)))
		add("sheet", "troubles", r.Troubles[min(i, mostSheetTroubles-1)].Failed[0].Title)
	}
	for _, blank := range allRootBlanks(r) {
		add("teardown", "roots", blank.Label)
		add("sheet", "roots", strings.TrimSuffix(strings.TrimPrefix(blank.Label, rootLooked), ":"))
	}
	for _, c := range likely(r, false) {
		add("triage", "causes", words.Titled(c.Title, c.Place), words.Percent(c.Probability), words.Capital(words.Likelihood(c.Probability))+".")
	}
	for _, s := range r.Steps {
		add("triage", "steps", append([]string{words.Titled(s.Title, s.Place), s.Do}, append(s.Looks, s.Tools...)...)...)
		for _, result := range s.Results {
			add("triage", "results", result.If, result.Then)
		}
	}
	for _, n := range r.Notes {
		add("triage", "notes", n)
	}
	for _, q := range r.Ask[:min(1, len(r.Ask))] {
		add("triage", "ask", q.Question, q.Sign)
	}
	add("triage", "how sure", r.Rulebook.Basis, noneLine(r))
	j := jobSheet{in}
	p := j.paper()
	for _, s := range append(p.steps, p.returns()...) {
		add("sheet", "steps", s.Title)
	}
	add("sheet", "tools", p.tools()...)
	for i := range p.repairs {
		for _, s := range p.repairs[i].opens {
			add("sheet", "openings of a repair", s.Title)
		}
	}
	for _, s := range in.Plan.Spares {
		if s.Chance >= leastCarried && !slices.ContainsFunc(p.opened, func(o evidence.At) bool { return slices.Contains(in.Book.Openings.Get(o.ID).Uses, s.Part) }) {
			add("sheet", "parts", s.Title, strings.TrimPrefix(words.AtAll("", s.Places), ", ")) // the places are said once if they are the same
		}
	}
	for _, who := range in.Plan.Told {
		add("sheet", "told", who.Who)
	}
	for _, a := range in.Plan.AskInstead {
		add("sheet", "ask_instead", a.If, a.Ask)
	}
	for _, command := range []string{"teardown"} {
		for _, s := range in.Plan.Steps {
			add(command, "steps", s.Title)
		}
		for _, s := range append(in.Plan.Spares, in.Plan.Consumed...) {
			add(command, "parts", spareText(s))
			for _, o := range s.OpenBesides {
				add(command, "open_besides", words.Titled(o.Title, o.Place))
			}
		}
		for _, w := range in.Plan.Worn {
			add(command, "worn", wornText(w))
		}
		for _, e := range in.Plan.WhileOpen {
			add(command, "while_open", append([]string{words.Titled(e.Title, e.Place)}, e.Looks...)...)
		}
		for _, who := range in.Plan.Told {
			add(command, "told", who.Who, who.Of)
		}
		for _, a := range in.Plan.AskInstead {
			add(command, "ask_instead", a.If, a.Ask)
		}
		add(command, "tools", append(in.Plan.Tools, in.Plan.RepairTools...)...)
	}
	return out
}

// Every view of a case says the same: what one of them has to say of what is
// proved, of stops, parts, openings and looks stands in the others too.
func TestViewsHoldTheSameContent(t *testing.T) {
	for name, text := range viewCases(t) {
		t.Run(name, func(t *testing.T) {
			in := input(t, text)
			r, err := engine.Diagnose(in.Book, in.Case)
			require.NoError(t, err)
			if len(r.Troubles) == 0 {
				withTroubles(r)
				withTroubles(in.Plan.Report)
			}
			all := views(t, in, r)
			for _, f := range fields(in, r) {
				for view, content := range all {
					for _, s := range f.texts {
						if strings.HasPrefix(view, f.command) {
							assert.True(t, strings.Contains(content, gaps.ReplaceAllString(s, " ")), "%s: %s is missing: %q", view, f.field, s)
						}
					}
				}
			}
		})
	}
}
