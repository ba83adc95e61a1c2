package engine

import (
	"fmt"
	"slices"
	"strings"

	"pgregory.net/rapid"

	"telltale/rules"
)

// localDraft draws a local book over the built-in one.
type localDraft struct {
	*rapid.T
	book  *rules.Book
	parts map[string][]string // section: entries
}

func (d *localDraft) pick(label string, from []string) string {
	return rapid.SampledFrom(from).Draw(d.T, label)
}

func (d *localDraft) add(section, format string, args ...any) {
	d.parts[section] = append(d.parts[section], fmt.Sprintf(format, args...))
}

func (d *localDraft) text() string {
	var b strings.Builder
	b.WriteString("rulebook: {name: drawn rig, version: '1'}\n")
	sections := make([]string, 0, len(d.parts))
	for section := range d.parts {
		sections = append(sections, section)
	}
	slices.Sort(sections)
	for _, section := range sections {
		fmt.Fprintf(&b, "%s:\n", section)
		for _, entry := range d.parts[section] {
			fmt.Fprintf(&b, "  %s\n", entry)
		}
	}
	return b.String()
}

// condition draws a condition on what stops ask about.
func (d *localDraft) condition() string {
	return d.pick("condition", []string{`present("knock")`, `recent("mud-changed")`, `not present("smoke")`, `discharge > psi(2000)`, `state_is("running") and state_is("stopped")`, `absent("pit-gain")`, `true`, `false`})
}

// legal draws what a local book may do: all of it is to be taken, and no list
// becomes less safe by it.
func (d *localDraft) legal() string {
	d.parts = map[string][]string{}
	d.legalStops()
	guards := d.legalGuards()
	d.legalOpening(guards)
	d.legalChecks(guards)
	if rapid.Bool().Draw(d.T, "return") {
		d.add("return", "local-return: {title: R, do: x, minutes: 1, opened: [%s], basis: judgement}", strings.Join(d.some("opened", d.book.Openings.IDs(), 2), ", "))
	}
	if rapid.Bool().Draw(d.T, "all is well") {
		d.add("causes", "local-cause: {title: All is well, group: drive, role: root, of: pump, how-common: 0.9, shows: {%s}, why: x, repair: x, look-again: x, haste: {wait: watch, because: x, basis: judgement}, basis: judgement}", d.shows())
	}
	if rapid.Bool().Draw(d.T, "cause") {
		c := d.book.Causes.Get(d.pick("cause", d.book.Causes.IDs()))
		d.add("causes", "%s: {how-common: %s, repair: Ours is another., basis: judgement}", c.ID, d.pick("common", []string{"very-rare", "very-common"}))
	}
	return d.text()
}

func (d *localDraft) some(label string, from []string, most int) []string {
	return rapid.SliceOfNDistinct(rapid.SampledFrom(from), 0, most, rapid.ID[string]).Draw(d.T, label)
}

// shows lets a cause show nearly every sign of the built-in book.
func (d *localDraft) shows() string {
	var out []string
	for _, s := range d.book.Signs.List {
		if kinds := s.KindIDs(); len(kinds) > 0 {
			var each []string
			for _, kind := range kinds {
				each = append(each, fmt.Sprintf("%s: %g", kind, 0.99/float64(len(kinds))))
			}
			out = append(out, s.ID+": {"+strings.Join(each, ", ")+"}")
			continue
		}
		out = append(out, s.ID+": 0.99")
	}
	return strings.Join(out, ", ")
}

func (d *localDraft) legalStops() {
	for _, id := range d.some("stops", d.book.Stops.IDs(), 3) {
		d.add("stops", "%s: {when: '%s', %s, basis: judgement}", id, d.condition(), d.pick("flag", []string{"by: at-once", "stop-pump: true", "power-off: true", "stop-pump: true, power-off: true", "open-nothing: true", "out-of-service: true"}))
	}
	if rapid.Bool().Draw(d.T, "own stop") {
		d.add("stops", "local-stop: {signal: %s, by: %s, title: S, when: '%s', do: [Carry on.], stop-pump: %t, power-off: %t, out-of-service: %t, basis: judgement}", d.pick("signal", rules.Signals()),
			d.pick("by", []string{"at-once", "next-safe-moment"}), d.condition(), rapid.Bool().Draw(d.T, "stop-pump"), rapid.Bool().Draw(d.T, "power-off"), rapid.Bool().Draw(d.T, "out of service"))
	}
}

// legalGuards draws new safety steps and gives those that can be named.
func (d *localDraft) legalGuards() []string {
	named := []string{"lift-heavy-parts", "nitrogen-only", "pull-not-hammer"}
	early := []string{"prepare-isolation", "lock-power", "close-lines", "bleed-pressure", "stop-pump"}
	for i := range rapid.IntRange(0, 4).Draw(d.T, "guards") {
		purpose := d.pick("for", []string{"running", "stopping", "isolation", "isolation", "named"})
		id, after, more := fmt.Sprintf("local-%s-%d", purpose, i), "", ""
		switch purpose {
		case "stopping":
			more = "skip-on-stop: true, "
		case "isolation":
			after = d.pick("after", append(early, ""))
			more = fmt.Sprintf("in-full: %t, ", rapid.Bool().Draw(d.T, "again"))
		case "named":
			named = append(named, id)
		}
		if rapid.IntRange(0, 3).Draw(d.T, "conditional") == 0 {
			more += "when: '" + d.condition() + "', "
		}
		d.add("safety", "%s: {title: G, for: %s, signal: warning, after: [%s], %sminutes: %d, do: x, basis: judgement}", id, purpose, after, more, rapid.IntRange(0, 90).Draw(d.T, "minutes"))
	}
	return named
}

func (d *localDraft) legalOpening(guards []string) {
	for _, id := range d.some("openings", d.book.Openings.IDs(), 3) {
		d.add("openings", "%s: {safety: [%s], hands: 5, minutes: %d, do: Ours turns left., basis: judgement}", id, d.pick("guard", guards), rapid.IntRange(0, 300).Draw(d.T, "minutes"))
	}
	if rapid.Bool().Draw(d.T, "lid") {
		d.add("openings", "local-lid: {title: L, of: pump, minutes: 3, do: x, close: {title: C, minutes: 1, do: x}, basis: judgement}")
		for _, id := range d.some("under the lid", []string{"crosshead-cover-off", "drive-guard-off", "valve-pot-open"}, 2) {
			if !slices.ContainsFunc(d.parts["openings"], func(entry string) bool { return strings.HasPrefix(entry, id+":") }) {
				d.add("openings", "%s: {needs: [local-lid], basis: judgement}", id)
			}
		}
	}
	if rapid.Bool().Draw(d.T, "own opening") {
		d.add("openings", "local-door: {title: D, of: cylinder, needs: [%s], safety: [%s], minutes: 3, do: x, close: {title: C, minutes: 1, do: x}, basis: judgement}",
			strings.Join(d.some("needs", []string{"crosshead-cover-off", "rod-space-open"}, 1), ", "), d.pick("guard", guards))
	}
}

func (d *localDraft) legalChecks(guards []string) {
	for _, c := range d.book.Checks.List {
		if c.FirstWhen != nil || rapid.IntRange(0, 11).Draw(d.T, "touch") > 0 {
			continue
		}
		key := "minutes: 1"
		switch {
		case c.Pump == rules.NeedsIsolated:
			key = d.pick("add", []string{"safety: [" + d.pick("guard", guards) + "]", "openings: [drive-guard-off]", "closed: [suction-strainer-open]", "after: [listen-round]"})
		case c.Pump == rules.NeedsStopped || c.Pump == rules.NeedsLive:
			key = "pump: isolated"
		case c.Pump == rules.NeedsRunning || c.Pump == rules.NeedsNothing:
			key = d.pick("shut", []string{"pump: stopped", "pump: isolated", "minutes: 0"})
		}
		d.add("checks", "%s: {%s, do: Ours is small., basis: judgement}", c.ID, key)
	}
	for i := range rapid.IntRange(0, 4).Draw(d.T, "own checks") {
		pump, more := d.pick("pump", []string{"running", "live", "stopped", "any", "not-isolated", "isolated", "isolated"}), ""
		if pump == "isolated" {
			more = fmt.Sprintf("openings: [%s], safety: [%s], ", strings.Join(d.some("openings", []string{"crankcase-cover-off", "crosshead-cover-off", "liner-out", "rod-parted"}, 2), ", "), d.pick("guard", guards))
		}
		if pump == "live" {
			more = "safety: [" + d.pick("live guard", []string{"bump-clear", "charge-side-live", "shut-in-test"}) + "], "
		}
		d.add("checks", "local-check-%d: {title: Take the cover off and feel, of: cylinder, pump: %s, %sminutes: 1, do: x, finds: {%s: almost-surely, %s: usually}, results: [], basis: judgement}",
			i, pump, more, d.pick("finds", []string{"piston-worn", "oil-low", "rod-clamp-misfitted"}), d.pick("finds too", []string{"kick", "packing-worn-out", "guide-and-crosshead-worn"}))
	}
}
