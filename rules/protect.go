package rules

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"telltale/evidence/source"
)

// What a local book may do to an entry of the built-in book, key by key. The
// rule is: it can make the work safer, weigh otherwise, and say more. A key
// that stands in no table stays as it is, and a test asks for its place here.

// protection is what a local book may do in one section.
type protection struct {
	keys map[string]change
	// barred are keys that a new entry of a local book cannot have, with the
	// reason.
	barred map[string]string
	// fixedBy are keys that stay as they are where the built-in entry has
	// another key.
	fixedBy map[string]string
}

// change lays what a local book gives for one key over the built-in value
// (nil: there is none) and gives what is read instead; or it says why that
// cannot be, with the place of the fault.
type change func(base, over *source.Node) (*source.Node, *refusal)

// refusal is why a local book cannot change a key, and what it can do.
type refusal struct {
	at  *source.Node
	why string
}

// The words with which every view marks what a local book says.
const (
	localMark    = " (local book)"
	localChanged = " (changed by the local book)"
	// RaisedByLocal stands behind the title of a built-in stop that holds by
	// the condition of the local book alone.
	RaisedByLocal = " (raised by the local book)"

	localSays = "Local book: "
	// localGround parts what a built-in entry rests on from what its change
	// rests on.
	localGround = "; local book: "
)

// protections holds the table of every section.
var protections = map[string]protection{
	"groups": {keys: map[string]change{"title": titleBeside, "basis": grounds}},
	"works":  {keys: map[string]change{"title": titleBeside, "puts-right": byKey, "background": free, "basis": grounds}},
	"muds":   {keys: map[string]change{"title": titleBeside, "exponent-least": free, "exponent-most": free, "basis": grounds}},
	// A figure of the maker, a rating and a relief setting belong to one pump:
	// they stand in the case, under manual, never in a book for many pumps.
	"limits": {keys: map[string]change{"title": titleBeside, "dimension": fixed, "value": ofTheManual, "as-low-as": ofTheManual, "with-liner": fixed, "basis": grounds}},
	// Whoever sees a sign must be able to say it: a stop may rest on it.
	"signs": {keys: map[string]change{
		"title": titleBeside, "ask": beside, "tell": beside, "background": free, "basis": grounds,
		"of": fixed, "pump": fixed, "openings": fixed, "kinds": fixed, "reckoned": fixed, "follows": fixed, "when": fixed,
	}},
	"causes": {keys: map[string]change{
		"title": titleBeside, "why": beside, "repair": beside, "sum": fixed, "look-again": beside,
		"haste": sooner, "haste-when": moreHaste, "group": free, "how-common": free, "odds": free, "shows": byKey, "shows-when": free, "brings": moreBrings, "parts": byKey, "basis": grounds,
		"of": fixed, "role": fixed, "when": fixed, "behind": fixed, "safety": more,
	}, barred: map[string]string{"behind": "its repair is done behind the isolation of the pump"}},
	"openings": {keys: map[string]change{
		"title": titleBeside, "do": beside, "tools": moreWords, "needs": more, "safety": more, "uses": more, "hands": higher,
		"minutes": free, "basis": grounds, "of": fixed, "close": fixed, "when": fixed,
		"where": fixed, "stands-for": fixed, "before-turning": fixed, "picture": fixed,
	}, barred: map[string]string{"stands-for": "a built-in opening is not opened in another way"}},
	"safety": {keys: map[string]change{
		"title": fixed, "do": fixed, "short": fixed, "for": fixed, "signal": fixed, "after": fixed, "in-full": fixed, "skip-on-stop": fixed,
		"taken-over": fixed, "reports": fixed, "lists": fixed, "lock-on": more, "leaves-open": more,
		"turns": fixed, "hands": fixed, "minutes": fixed, "when": fixed, "basis": grounds,
	}},
	"checks": {
		keys: map[string]change{
			"title": titleBeside, "do": beside, "tools": moreWords, "read": moreReadings, "results": moreResults,
			"openings": more, "safety": more, "after": more, "after-when": more, "closed": more, "hands": higher, "pump": shut,
			"finds": byKey, "minutes": free, "basis": grounds,
			"of": fixed, "when": fixed, "first-when": fixed, "answers": fixed, "main": fixed, "not-where": fixed, "place": fixed, "picture": fixed,
		},
		barred: map[string]string{
			"first-when": "what comes before all other checks is the built-in book's alone",
			"place":      "what needs no safety steps of the running pump is said by the built-in book alone",
		},
		fixedBy: map[string]string{
			"pump": "first-when", "openings": "first-when", "safety": "first-when", "after": "first-when", "after-when": "first-when", "closed": "first-when",
		},
	},
	"return": {
		keys: map[string]change{
			"title": fixed, "do": fixed, "short": fixed, "minutes": fixed, "opened": fixed, "before": fixed, "repeats": fixed, "for": fixed, "when": fixed, "lists": fixed, "picture": fixed, "basis": grounds,
		},
		barred: map[string]string{"before": "a return step of a local book stands where all is closed and the locks are still on"},
	},
	// What leaves the pump takes the stop and the isolation of all other stops away.
	"stops": {keys: map[string]change{
		"when": orWhen, "stop-pump": onlyTrue, "power-off": onlyTrue, "leave-pump": fixed, "open-nothing": onlyTrue, "out-of-service": onlyTrue, "isolate-anew": onlyTrue, "by": atLeast(string(NextSafeMoment), string(AtOnce)), "haste": fixed,
		"signal": fixed, "title": fixed, "do": fixed, "standing": fixed, "basis": grounds,
	}, barred: map[string]string{"leave-pump": "it would take away the steps that another stop demands; what says that the well may flow goes to the when of well-control-first"}},
	"ratings": {keys: map[string]change{
		"title": fixed, "of": fixed, "most": fixed, "least": fixed, "doubt": fixed, "shows": fixed, "when": fixed, "basis": grounds,
	}},
	"thresholds": {keys: map[string]change{
		"title": titleBeside, "of": fixed, "above": fixed, "below": fixed, "shows": fixed, "one-of": fixed, "when": fixed, "basis": grounds,
	}},
	"parts":  {keys: map[string]change{"title": titleBeside, "of": fixed, "reached-by": fixed, "shown-by": byKey, "tools": moreWords, "minutes": free, "often": fixed, "times": fixed, "when": fixed, "basis": grounds}},
	"advice": {keys: map[string]change{"title": titleBeside, "do": moreWords, "measure-again": fixed, "basis": grounds}},
	// The steps carry cautions: who wants more says it in the site's procedure.
	"procedures": {keys: map[string]change{"title": fixed, "tools": moreWords, "steps": fixed, "basis": grounds}},
	"gauges":     {keys: map[string]change{"title": titleBeside, "do": beside, "resolves": fixed, "checks": fixed, "basis": grounds}},
	"told":       {keys: map[string]change{"title": titleBeside, "of": beside, "opened": fixed, "causes": fixed, "when": fixed, "basis": grounds}},
	"referrals":  {keys: map[string]change{"title": titleBeside, "ask": beside, "opened": fixed, "basis": grounds}},

	"trends": {keys: map[string]change{"title": titleBeside, "threshold": fixed, "shims": fixed, "room": fixed, "parts": fixed, "check": fixed, "at-limit": fixed, "basis": grounds}},
	// What falls due may fall due sooner on a rig, not later.
	"upkeep": {keys: map[string]change{"title": titleBeside, "do": beside, "of": fixed, "corrected": more, "changed": more, "shimmed": onlyTrue, "after": fixed, "pump": shut, "openings": more, "safety": more, "minutes": free, "tools": moreWords, "basis": grounds}},

	// A rig asks for more, behind what the form asks; nothing is taken from a form.
	"forms": {keys: map[string]change{"title": titleBeside, "use": beside, "safety": more, "asks": more, "basis": grounds}},

	// A rig adds how its crew talks. Nothing that the built-in book understands
	// can be taken from it.
	"same-words":     {keys: map[string]change{"words": more, "against": more, "as": fixed, "at": fixed, "one-of": fixed, "end": fixed, "numbered": fixed, "basis": grounds}},
	"said-of-signs":  {keys: map[string]change{"present": more, "absent": more, "kinds": moreByKey, "basis": grounds}},
	"said-of-works":  {keys: map[string]change{"said": more, "basis": grounds}},
	"said-of-checks": {keys: map[string]change{"said": more, "basis": grounds}},

	"scale":    {keys: map[string]change{"how-common": byKey, "shows": byKey, "finds": byKey, "background": byKey, "basis": grounds}},
	"planning": {keys: map[string]change{"least-gain": lower, "root-from": lower, "root-from-urgent": lower, "firmness": byKey, "how-common-weight": free, "fixed-order": free, "go-straight": fixed, "basis": grounds}},
	"readings": {keys: map[string]change{
		"misread": free, "shim-series": free, "most-pieces": free, "basis": grounds,
		"upper-guide-least": fixed, "upper-guide-most": fixed, "rod-load": fixed, "significant": fixed, "guard": fixed,
		"suction-factor": fixed, "suction-doubt": fixed, "air-pressure": fixed, "vapour-pressure": fixed, "crank-ratio": fixed,
		"confidence": fixed, "like-one-dead": fixed, "usual-loss": fixed, "gauge-doubt": fixed, "same-strokes": fixed, "life-shape-least": fixed, "life-shape-most": fixed,
	}},
	"haste": {keys: map[string]change{
		"stop-now": fixed, "next-connection": fixed, "planned-stop": fixed, "watch": fixed, "unsure": fixed, "nothing-seen": fixed, "unexplained": fixed, "settled": fixed, "locked": fixed,
		"well-first": fixed, "basis": grounds,
	}},
	"due":      {keys: map[string]change{"part-share": lower, "ahead": fixed, "look-minutes": free, "repair-minutes": free, "basis": grounds}},
	"teardown": {keys: map[string]change{"parts-from": free, "look-worth": free, "most-looks": free, "minutes-low": free, "minutes-high": free, "basis": grounds}},
	"practice": {keys: map[string]change{
		"look-minutes": free, "wrong-minutes": free, "told": free, "common-from": free, "clear-signs": free,
		"with-root": free, "root-from": free, "back-hours": free, "basis": grounds,
		"stands-if": more,
	}},
}

// of finds what may be done with a key of a built-in entry. What nobody
// classified is fixed.
func (p protection) of(key string, under *source.Node) change {
	c := p.keys[key]
	if by := p.fixedBy[key]; c == nil || by != "" && pairOf(under, by) != nil {
		return fixed
	}
	return c
}

// free lets the local value stand instead: it weighs, and guards nothing.
func free(_, over *source.Node) (*source.Node, *refusal) { return over, nil }

// fixed refuses any value.
func fixed(_, over *source.Node) (*source.Node, *refusal) {
	return nil, &refusal{over, "it stays as the built-in book has it; add an entry of its own beside it instead"}
}

// ofTheManual refuses figures of the maker.
func ofTheManual(_, over *source.Node) (*source.Node, *refusal) {
	return nil, &refusal{over, "a figure of this pump stands in the case, under manual:, where it can be checked against the pump"}
}

// grounds puts what a change rests on behind what the built-in entry rests on.
func grounds(base, over *source.Node) (*source.Node, *refusal) {
	if base == nil || over.Kind != source.Scalar || strings.TrimSpace(base.Text) == strings.TrimSpace(over.Text) {
		return over, nil
	}
	return wordsAt(over, strings.TrimSpace(base.Text)+localGround+strings.TrimSpace(over.Text)), nil
}

// beside puts local words behind the built-in ones.
func beside(base, over *source.Node) (*source.Node, *refusal) {
	if over.Kind != source.Scalar || strings.TrimSpace(over.Text) == "" {
		return nil, &refusal{over, "expected words, which are put beside the built-in ones"}
	}
	words := localSays + strings.TrimSpace(over.Text)
	if base == nil {
		return wordsAt(over, words), nil
	}
	return wordsAt(over, strings.TrimSpace(base.Text)+" "+words), nil
}

// titleBeside puts a local title behind the built-in one.
func titleBeside(base, over *source.Node) (*source.Node, *refusal) {
	if over.Kind != source.Scalar || strings.TrimSpace(over.Text) == "" {
		return nil, &refusal{over, "expected a title, which is put beside the built-in one"}
	}
	return wordsAt(over, fmt.Sprintf("%s (local book: %s)", strings.TrimSpace(base.Text), strings.TrimSpace(over.Text))), nil
}

// wordsAt is a text that stands at the place of another.
func wordsAt(n *source.Node, text string) *source.Node {
	return &source.Node{Pos: n.Pos, Kind: source.Scalar, Text: text}
}

// localWords marks a text as words of a local book.
func localWords(n *source.Node) *source.Node { return wordsAt(n, localSays+n.Text) }

// more adds the items of the local list behind the built-in ones.
func more(base, over *source.Node) (*source.Node, *refusal) {
	items := itemsOf(over)
	empty := func(item *source.Node) bool {
		return item.Kind == source.Null || item.Kind == source.Scalar && strings.TrimSpace(item.Text) == ""
	}
	if over.Kind == source.Mapping || len(items) == 0 || slices.ContainsFunc(items, empty) {
		return nil, &refusal{over, "nothing can be taken from it; expected a list of what comes to it"}
	}
	return &source.Node{Pos: over.Pos, Kind: source.List, Items: slices.Concat(itemsOf(base), items)}, nil
}

// itemsOf gives the items of a list; one value alone counts as a list.
func itemsOf(n *source.Node) []*source.Node {
	switch {
	case n == nil:
		return nil
	case n.Kind == source.Scalar:
		return []*source.Node{n}
	}
	return n.Items
}

// moreWords is more, each local text marked.
func moreWords(base, over *source.Node) (*source.Node, *refusal) {
	return more(base, marked(over, localWords))
}

// moreReadings is more, each local reading marked.
func moreReadings(base, over *source.Node) (*source.Node, *refusal) {
	return more(base, marked(over, func(item *source.Node) *source.Node { return wordsAt(item, item.Text+localMark) }, "what"))
}

// moreResults is more, each local result marked.
func moreResults(base, over *source.Node) (*source.Node, *refusal) {
	return more(base, marked(over, localWords, "if"))
}

// marked gives a list with a mark at its texts: its single values, and those
// under a key of its mappings.
func marked(n *source.Node, mark func(*source.Node) *source.Node, keys ...string) *source.Node {
	if n.Kind == source.Mapping {
		return n // more refuses it
	}
	out := &source.Node{Pos: n.Pos, Kind: source.List}
	for _, item := range itemsOf(n) {
		switch {
		case item.Kind == source.Scalar && strings.TrimSpace(item.Text) != "":
			item = mark(item)
		case item.Kind == source.Mapping:
			item = withMarks(item, mark, keys...)
		}
		out.Items = append(out.Items, item)
	}
	return out
}

// withMarks gives a mapping with a mark at the texts of some keys.
func withMarks(n *source.Node, mark func(*source.Node) *source.Node, keys ...string) *source.Node {
	out := *n
	out.Pairs = slices.Clone(n.Pairs)
	for i, p := range out.Pairs {
		if slices.Contains(keys, p.Key.Text) && p.Value.Kind == source.Scalar && strings.TrimSpace(p.Value.Text) != "" {
			out.Pairs[i].Value = mark(p.Value)
		}
	}
	return &out
}

// byKey lays a mapping over the built-in one, key by key: nothing goes.
func byKey(base, over *source.Node) (*source.Node, *refusal) {
	if over.Kind != source.Mapping {
		return nil, &refusal{over, "expected keys with values, which are laid over the built-in ones"}
	}
	return merged(base, over), nil
}

// moreByKey lets lists be added to, each under its key.
func moreByKey(base, over *source.Node) (*source.Node, *refusal) {
	if over.Kind != source.Mapping {
		return nil, &refusal{over, "expected keys with lists of what comes to them"}
	}
	out := *over
	out.Pairs = nil
	if base != nil {
		out.Pairs = slices.Clone(base.Pairs)
	}
	for _, p := range over.Pairs {
		at := slices.IndexFunc(out.Pairs, func(q source.Pair) bool { return q.Key.Text == p.Key.Text })
		if at < 0 {
			out.Pairs = append(out.Pairs, p)
			continue
		}
		longer, refused := more(out.Pairs[at].Value, p.Value)
		if refused != nil {
			return nil, refused
		}
		out.Pairs[at].Value = longer
	}
	return &out, nil
}

// orWhen lets a condition hold in more cases: where the built-in one holds, or
// the local one.
func orWhen(base, over *source.Node) (*source.Node, *refusal) {
	if over.Kind != source.Scalar || strings.TrimSpace(over.Text) == "" {
		return nil, &refusal{over, "expected one condition; it is taken beside the built-in one, with or"}
	}
	return more(base, over)
}

// onlyTrue lets a flag be set and not be taken back.
func onlyTrue(base, over *source.Node) (*source.Node, *refusal) {
	if base != nil && base.Text == "true" && over.Text != "true" {
		return nil, &refusal{over, "it is true in the built-in book and stays so"}
	}
	return over, nil
}

// atLeast lets a word be changed to a graver one of its row only. A built-in
// entry without the word counts as the gravest.
func atLeast(row ...string) change {
	return func(base, over *source.Node) (*source.Node, *refusal) {
		was := len(row) - 1
		if base != nil {
			was = slices.Index(row, base.Text)
		}
		if over.Kind == source.Scalar && slices.Index(row, over.Text) >= was {
			return over, nil
		}
		return nil, &refusal{over, fmt.Sprintf("it can only be made graver; the row is %s", strings.Join(row, ", "))}
	}
}

// shutter are the states of the pump that guard hands better than a state.
var shutter = map[PumpNeed][]PumpNeed{
	NeedsRunning: {NeedsStopped, NeedsIsolated},
	NeedsLive:    {NeedsStopped, NeedsIsolated},
	NeedsNothing: {NeedsStopped, NeedsIsolated},
	NeedsStopped: {NeedsIsolated},
}

// shut lets a check be done on a pump that is shut down further only.
func shut(base, over *source.Node) (*source.Node, *refusal) {
	was := PumpNeed(base.Text)
	if over.Kind == source.Scalar && (PumpNeed(over.Text) == was || slices.Contains(shutter[was], PumpNeed(over.Text))) {
		return over, nil
	}
	return nil, &refusal{over, fmt.Sprintf("a check that needs the pump %s can only be moved to a pump that is shut down further", was)}
}

// higher and lower let a number go one way. A number that is none is reported
// when it is read.
func higher(base, over *source.Node) (*source.Node, *refusal) {
	if was, is, ok := numbers(base, over); ok && is < was {
		return nil, &refusal{over, fmt.Sprintf("it can only be raised; the built-in book has %g", was)}
	}
	return over, nil
}

func lower(base, over *source.Node) (*source.Node, *refusal) {
	if was, is, ok := numbers(base, over); ok && is > was {
		return nil, &refusal{over, fmt.Sprintf("it can only be lowered; the built-in book has %g", was)}
	}
	return over, nil
}

func numbers(base, over *source.Node) (was, is float64, ok bool) {
	if base == nil {
		return 0, 0, false
	}
	was, err := strconv.ParseFloat(base.Text, 64)
	if err != nil {
		return 0, 0, false
	}
	is, err = strconv.ParseFloat(over.Text, 64)
	return was, is, err == nil
}
