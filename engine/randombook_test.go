package engine

import (
	"fmt"
	"slices"
	"strings"
	"testing/fstest"

	"pgregory.net/rapid"

	"telltale/evidence"
	"telltale/rules"
)

// bookDraft draws a random rulebook as YAML, so that the loader is in the loop
// too, and a case that fits it.
type bookDraft struct {
	t    *rapid.T
	yaml strings.Builder

	signs, causes, opening, named, checks []string
	turning, locked                       []string // of named: those that turn the pump, those that come after the isolation
	bumps                                 []string // those that turn a pump that is not isolated
	chains                                bool     // causes bring others on
	signKinds                             map[string]int
	level                                 map[string]string
	waits                                 map[string]rules.Wait
}

// GoString shows a draft as the YAML that it is.
func (d *bookDraft) GoString() string { return "\n" + d.yaml.String() }

// hasteLine is the section haste of the tests' books.
const hasteLine = "haste: {stop-now: {title: now, from: 0.15, running: Stop., standing: Stay.}, next-connection: {title: soon, from: 0.25, running: Soon., standing: Short.}, planned-stop: {title: later, from: 0.3, running: Later., standing: Run.}, watch: {title: watch, running: Watch., standing: Watch.}, unsure: 0.1, nothing-seen: Nothing., unexplained: Open., settled: Done., locked: Locked., well-first: {title: well, running: Well., standing: Well.}, basis: judgement}\n"

var levels = []string{"pump", "cylinder", "chamber"}

func (d *bookDraft) pick(label string, from []string) string {
	return rapid.SampledFrom(from).Draw(d.t, label)
}

func (d *bookDraft) some(label string, from []string, most int) []string {
	if len(from) == 0 {
		return nil
	}
	return rapid.SliceOfNDistinct(rapid.SampledFrom(from), 0, min(most, len(from)), rapid.ID[string]).Draw(d.t, label)
}

func (d *bookDraft) chance(label string) float64 {
	return rapid.SampledFrom([]float64{0.01, 0.1, 0.3, 0.6, 0.9}).Draw(d.t, label)
}

func (d *bookDraft) printf(format string, args ...any) { fmt.Fprintf(&d.yaml, format, args...) }

// atOrAbove keeps the ids whose level is not finer than that of id.
func (d *bookDraft) atOrAbove(level string, ids []string) []string {
	depth := map[string]int{"pump": 0, "cylinder": 1, "chamber": 2}
	var out []string
	for _, id := range ids {
		if depth[d.level[id]] <= depth[level] {
			out = append(out, id)
		}
	}
	return out
}

func list(ids []string) string { return "[" + strings.Join(ids, ", ") + "]" }

// drawBook draws a book in which every cause stands alone, drawChains one in which
// causes bring others on.
var (
	drawBook   = rapid.Custom(func(t *rapid.T) *bookDraft { return drawnBook(t, false) })
	drawChains = rapid.Custom(func(t *rapid.T) *bookDraft { return drawnBook(t, true) })
)

func drawnBook(t *rapid.T, chains bool) *bookDraft {
	d := &bookDraft{t: t, chains: chains, signKinds: map[string]int{}, level: map[string]string{}, waits: map[string]rules.Wait{}}
	d.printf("rulebook: {name: drawn, version: '1'}\nplanning: {least-gain: %g, basis: judgement}\n", d.chance("least")/20)
	d.yaml.WriteString(hasteLine)
	d.printf("scale: {how-common: {c: 0.02}, shows: {s: 0.5}, finds: {f: 0.9}, background: {usual: 0.01}, basis: judgement}\n")
	d.printf("groups: {g: {title: G, basis: judgement}}\n")
	d.safety()
	d.signsAndCauses()
	d.openings()
	d.checkList()
	d.printf("stops:\n")
	for i := range rapid.IntRange(1, 2).Draw(t, "stops") {
		d.printf("  stop%d: {signal: danger, by: %s, title: A, when: 'present(\"s0\")%s', do: [x], stop-pump: %t, power-off: %t, open-nothing: %t, out-of-service: %t, basis: judgement}\n",
			i, d.pick("by", []string{"at-once", "next-safe-moment"}), d.pick("and", []string{"", " and rotation_is(\"unknown\")"}), i == 0 || rapid.Bool().Draw(t, "stop-pump"), rapid.Bool().Draw(t, "power-off"), rapid.IntRange(0, 3).Draw(t, "open-nothing") == 0, rapid.IntRange(0, 2).Draw(t, "out of service") == 0)
	}
	d.printf("return:\n  measure: {title: Measure, do: x, minutes: 1, before: %s, basis: judgement}\n", list(d.some("measured before", d.opening, 3)))
	d.printf("  bar: {title: Bar, do: x, minutes: 1, opened: %s, before: %s, basis: judgement}\n", list(d.some("barred if open", d.opening, 2)), list(d.some("barred before", d.opening, 3)))
	d.printf("  stays: {title: Stays, for: out-of-service, do: x, minutes: 1, basis: judgement}\n")
	d.printf("  back: {title: Back%s, do: x, minutes: 1, basis: judgement}\n", d.pick("way", []string{"", ", for: service"}))
	return d
}

func (d *bookDraft) safety() {
	d.printf("safety:\n")
	for i, purpose := range []string{"running", "stopping", "isolation", "isolation", "isolation"} {
		again, after := "false", "[]"
		if i == 4 {
			again = "true"
		}
		if i >= 3 {
			after = fmt.Sprintf("[safe%d]", i-1)
		}
		if i == 2 {
			after = "[safe1]"
		}
		d.printf("  safe%d: {title: S%d, for: %s, signal: danger, after: %s, in-full: %s, minutes: 2, do: x%s, basis: judgement}\n", i, i, purpose, after, again, d.takenOver(i == 2 || i == 3))
	}
	d.printf("  agree: {title: A, for: stopping, signal: warning, skip-on-stop: %t, minutes: 1, do: x, basis: judgement}\n", rapid.Bool().Draw(d.t, "skip-on-stop"))
	d.printf("  line0: {title: L, for: named, signal: danger, minutes: 1, do: x, basis: judgement}\n")
	d.printf("  line1: {title: L, for: named, signal: danger, after: [line0], minutes: 1, do: x, basis: judgement}\n")
	for i := range rapid.IntRange(0, 2).Draw(d.t, "named") {
		id := fmt.Sprintf("named%d", i)
		d.printf("  %s: {title: N, for: named, signal: warning, after: %s, minutes: 1, do: x, basis: judgement}\n", id, list(d.some("named after", d.named, 1)))
		d.named = append(d.named, id)
	}
	if rapid.Bool().Draw(d.t, "turns") {
		d.printf("  turn: {title: T, for: named, signal: danger, after: [safe4], turns: true, minutes: 1, do: x, basis: judgement}\n")
		d.turning, d.locked = []string{"turn"}, []string{"turn"}
	}
	if rapid.Bool().Draw(d.t, "bumps") {
		d.printf("  bump: {title: B, for: named, signal: danger, turns: true, minutes: 1, do: x, basis: judgement}\n")
		d.bumps = []string{"bump"}
	}
	if rapid.Bool().Draw(d.t, "behind the isolation") {
		d.printf("  behind: {title: B, for: named, signal: danger, after: [%s], minutes: 1, do: x, basis: judgement}\n", d.pick("behind", []string{"safe2", "safe3", "safe4"}))
		d.locked = append(d.locked, "behind")
	}
}

// takenOver draws the form of a step for a pump that is isolated already.
func (d *bookDraft) takenOver(can bool) string {
	if can && rapid.Bool().Draw(d.t, "taken over") {
		return ", taken-over: {title: Seen, minutes: 1, do: y}"
	}
	return ""
}

func (d *bookDraft) openings() {
	count := rapid.IntRange(0, 6).Draw(d.t, "openings")
	if count > 0 {
		d.printf("openings:\n")
	}
	for i := range count {
		id, level := fmt.Sprintf("door%d", i), d.pick("opening level", levels)
		guards := append(append([]string{}, d.named...), d.locked...)
		d.printf("  %s: {title: D, of: %s, needs: %s, safety: %s, minutes: %d, do: x, close: {title: On, minutes: 1, do: x}, basis: judgement}\n",
			id, level, list(d.some("needs", d.atOrAbove(level, d.opening), 2)), list(d.some("opening safety", guards, 1)), rapid.IntRange(0, 30).Draw(d.t, "minutes"))
		d.opening = append(d.opening, id)
		d.level[id] = level
	}
	d.piece()
}

// piece draws an opening that is there only where a sign shows, that stands for
// others there, and that comes before all turning.
func (d *bookDraft) piece() {
	level := d.pick("piece level", levels)
	var signs, same []string
	for _, s := range d.signs {
		if slices.Index(levels, d.level[s]) >= slices.Index(levels, level) {
			signs = append(signs, s)
		}
	}
	for _, a := range d.opening {
		if d.level[a] == level {
			same = append(same, a)
		}
	}
	if len(d.opening) == 0 || len(signs) == 0 || rapid.IntRange(0, 3).Draw(d.t, "no piece") == 0 {
		return
	}
	d.printf("  piece: {title: P, of: %s, where: [%s], stands-for: %s, before-turning: %t, needs: [], safety: %s, minutes: 5, do: x, close: {title: On, minutes: 1, do: x}, basis: judgement}\n",
		level, d.pick("piece where", signs), list(d.some("stands for", same, 2)), rapid.IntRange(0, 3).Draw(d.t, "turning may go on") > 0, list(d.some("piece safety", d.named, 1)))
	d.opening = append(d.opening, "piece")
	d.level["piece"] = level
}

func (d *bookDraft) signsAndCauses() {
	d.printf("signs:\n")
	for i := range rapid.IntRange(1, 5).Draw(d.t, "signs") {
		id := fmt.Sprintf("s%d", i)
		kinds := rapid.IntRange(0, 2).Draw(d.t, "kinds")
		d.signs, d.signKinds[id] = append(d.signs, id), kinds
		d.level[id] = d.pick("sign level", levels)
		d.printf("  %s: {title: S, ask: S, of: %s, pump: any, background: %g, basis: judgement", id, d.level[id], d.chance("background")/10)
		if kinds > 0 {
			d.printf(", kinds: {k0: K, k1: K}")
		}
		d.printf("}\n")
	}
	d.printf("causes:\n")
	fewest, most, of := 1, 5, levels
	if d.chains { // few ways, so that their states can be enumerated; a chain is as deep as a book allows
		fewest, most, of = 2, rules.MostDeep+1, []string{"pump", "pump", "pump", "cylinder"}
	}
	for i := range rapid.IntRange(fewest, most).Draw(d.t, "causes") {
		id := fmt.Sprintf("c%d", i)
		d.causes = append(d.causes, id)
		d.printf("  %s: {title: C, group: g, role: root, of: %s, how-common: %g, why: x, repair: x, look-again: x, haste: {wait: %s, because: %s, basis: judgement}, basis: judgement, ", id, d.pick("cause level", of), d.chance("common"), d.wait(id), id)
		switch behind := d.pick("behind", []string{"pump", "own-line", "nothing", ""}); behind {
		case "own-line":
			d.printf("behind: own-line, safety: [%s], ", d.pick("line step", []string{"line0", "line1"}))
		case "pump":
			d.printf("behind: pump, safety: %s, ", list(d.some("repair safety", append([]string{"line1"}, d.named...), 2)))
		case "nothing":
			d.printf("behind: nothing, ")
		}
		d.printf("shows: %s", d.links())
		if d.chains {
			d.printf(", brings: [")
			for _, to := range d.some("brings", d.causes[:i], 2) {
				d.printf("{cause: %s, how-often: %g, shows: %s, basis: judgement}, ", to, d.chance("often"), d.links())
			}
			d.printf("]")
		}
		d.printf("}\n")
	}
}

// links draws how often some signs show.
func (d *bookDraft) links() string {
	var out []string
	for _, s := range d.some("shows", d.signs, 3) {
		if d.signKinds[s] > 0 {
			out = append(out, fmt.Sprintf("%s: {k0: %g, k1: 0.05}", s, d.chance("k0")))
		} else {
			out = append(out, fmt.Sprintf("%s: %g", s, d.chance("link")))
		}
	}
	return "{" + strings.Join(out, ", ") + "}"
}

// wait draws how long a cause can wait, and keeps it.
func (d *bookDraft) wait(id string) rules.Wait {
	w := rapid.SampledFrom(rules.Waits()).Draw(d.t, "wait")
	d.waits[id] = w
	return w
}

func (d *bookDraft) checkList() {
	d.printf("checks:\n")
	for i := range rapid.IntRange(1, 7).Draw(d.t, "checks") {
		id, level := fmt.Sprintf("check%d", i), d.pick("check level", levels)
		pump := d.pick("pump", []string{"running", "live", "stopped", "any", "not-isolated", "isolated", "isolated"})
		opening := "[]"
		if pump == "isolated" {
			opening = list(d.some("check opening", d.atOrAbove(level, d.opening), 2))
		}
		first := ""
		if rapid.IntRange(0, 5).Draw(d.t, "first") == 0 {
			first = fmt.Sprintf("first-when: '%spresent(\"s0\")', ", d.pick("first when", []string{"", "not "}))
		}
		var finds []string
		for _, c := range d.some("finds", d.causes, 3) {
			finds = append(finds, fmt.Sprintf("%s: %g", c, d.chance("sure")))
		}
		guards := d.named
		if pump == "live" {
			guards = append(slices.Clone(guards), d.bumps...)
		}
		if pump != "running" && pump != "live" && (pump != "not-isolated" || rapid.IntRange(0, 7).Draw(d.t, "misfit") == 0) {
			guards = append(append([]string{}, guards...), d.locked...)
		}
		if rapid.IntRange(0, 2).Draw(d.t, "closed") == 0 {
			first += fmt.Sprintf("closed: %s, ", list(d.some("what is closed", d.opening, 2)))
		}
		if rapid.IntRange(0, 2).Draw(d.t, "not where") == 0 {
			first += fmt.Sprintf("not-where: %s, ", list(d.some("spoiled by", d.signs, 1)))
		}
		if len(d.checks) > 0 && rapid.IntRange(0, 3).Draw(d.t, "after when") == 0 {
			first += fmt.Sprintf("after-when: [{when: 'present(\"s0\")', after: [%s]}], ", d.pick("after then", d.checks))
		}
		d.printf("  %s: {title: K, of: %s, pump: %s, answers: %s, openings: %s, safety: %s, after: %s, %sminutes: %d, do: x, finds: {%s}, results: [], basis: judgement}\n",
			id, level, pump, list(d.some("answers", d.signs, 1)), opening, list(d.some("check safety", guards, 1)), list(d.some("after", d.checks, 1)), first,
			rapid.IntRange(0, 40).Draw(d.t, "check minutes"), strings.Join(finds, ", "))
		d.checks = append(d.checks, id)
	}
}

// load gives the drawn book.
func (d *bookDraft) load() *rules.Book {
	book, err := rules.Load(fstest.MapFS{"book.yaml": {Data: []byte(d.yaml.String())}}, "drawn")
	if err != nil && refused(err) {
		d.t.Skip("the book contradicts itself and was refused")
	}
	if err != nil {
		d.t.Fatalf("the drawn book does not load: %v\n%s", err, d.yaml.String())
	}
	return book
}

// refused says whether the loader found just what a drawn book may have wrong.
func refused(err error) bool {
	for _, line := range strings.Split(strings.TrimSpace(err.Error()), "\n") {
		if !strings.Contains(line, "after the pump is stopped or isolated") && !strings.Contains(line, "closed, but it, or a check before it, needs it open") {
			return false
		}
	}
	return true
}

// drawCase draws a case that fits the book.
func drawCase(t *rapid.T, d *bookDraft, book *rules.Book) *evidence.Case {
	action := rapid.SampledFrom(evidence.Actions()).Draw(t, "action")
	layout := evidence.Layout{Action: evidence.Action(action), Cylinders: evidence.DefaultCylinders(evidence.Action(action))}
	state := rapid.SampledFrom(evidence.PumpStates()).Draw(t, "state")
	var b strings.Builder
	fmt.Fprintf(&b, "pump:\n  action: %s\n  state: %s\n", action, state)
	if state == "isolated" && len(d.opening) > 0 && rapid.Bool().Draw(t, "open") {
		id := d.pick("open", d.opening)
		fmt.Fprintf(&b, "  open: [%s]\n", id)
	}
	b.WriteString("findings:\n")
	for _, s := range d.signs {
		answers := []string{"unknown", "present", "absent"}
		if d.signKinds[s] > 0 {
			answers = append(answers, "k0", "k1")
		}
		answer := rapid.SampledFrom(answers)
		if d.level[s] == "pump" || rapid.Bool().Draw(t, "vague") {
			fmt.Fprintf(&b, "  %s: %s\n", s, answer.Draw(t, "answer"))
			continue
		}
		places := layout.Places(evidence.Level(d.level[s]))
		if d.level[s] == "chamber" && rapid.Bool().Draw(t, "which end is unknown") {
			places = layout.Places(evidence.OfCylinder)
		}
		fmt.Fprintf(&b, "  %s: {", s)
		for i, p := range places {
			if i > 0 {
				b.WriteString(", ")
			}
			fmt.Fprintf(&b, "%q: %s", p.String(), answer.Draw(t, "answer"))
		}
		b.WriteString("}\n")
	}
	k, err := evidence.ParseCase("drawn.yaml", []byte(b.String()), book.Vocabulary())
	if err != nil {
		t.Fatalf("the drawn case does not parse: %v\n%s", err, b.String())
	}
	return k
}

// drawProved draws causes that were proved in a case, some of them corrected.
func drawProved(t *rapid.T, d *bookDraft, book *rules.Book, k *evidence.Case) {
	for _, id := range d.some("proved", d.causes, 2) {
		at := evidence.At{ID: id, Place: rapid.SampledFrom(k.Pump.Places(book.Causes.Get(id).Level)).Draw(t, "proved at")}
		k.Confirmed = append(k.Confirmed, at)
		if rapid.IntRange(0, 3).Draw(t, "corrected") == 0 {
			k.Corrected = append(k.Corrected, at)
		}
	}
}

// drawVerdicts draws causes that were proved and others that were ruled out.
func drawVerdicts(t *rapid.T, d *bookDraft, book *rules.Book, k *evidence.Case) {
	drawProved(t, d, book, k)
	for _, id := range d.some("ruled out", d.causes, 2) {
		at := evidence.At{ID: id, Place: rapid.SampledFrom(k.Pump.Places(book.Causes.Get(id).Level)).Draw(t, "ruled out at")}
		if !slices.Contains(k.Confirmed, at) {
			k.RuledOut = append(k.RuledOut, at)
		}
	}
}
