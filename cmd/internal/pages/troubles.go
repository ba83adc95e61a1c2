package pages

import (
	"cmp"
	"fmt"
	"slices"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/words"
	"telltale/engine"
	"telltale/engine/chances"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

// What a page shows of a trouble.
const (
	mostRoots   = 4
	mostWith    = 3 // failures besides, and other causes
	leastOfRoot = 0.05
	leastFall   = 0.25 // the share of a chance that must go before it counts as fallen
)

// failedHead stands over the troubles.
const failedHead = "What failed, and what brought it on"

// troubles tells what is probably wrong, a block for each trouble; with looks,
// whether its roots were looked at is to be ticked.
func troubles(r *engine.Report, looks bool) doc.Section {
	s := doc.Section{Heading: failedHead, Parts: []doc.Part{doc.Text(doc.If(len(r.Troubles) > 1,
		fmt.Sprintf("%d troubles are told. Each stands by itself, because one does not bring the other on.", len(r.Troubles))))}}
	for i := range r.Troubles {
		t := &r.Troubles[i]
		part := doc.Part{Whole: true, Head: doc.If(len(r.Troubles) > 1, troubleHead(i)), Items: troubleLines(r, t)}
		if looks {
			part.Blanks = rootBlanks(r, t)
		}
		s.Parts = append(s.Parts, part)
	}
	deep := slices.ContainsFunc(r.Troubles, func(t chances.Trouble) bool { return len(t.BroughtOnBy) > 0 })
	s.Parts = append(s.Parts, doc.Text(doc.If(len(r.Troubles) > 0, noneLine(r)), doc.If(deep, "A root is what brought a failure on. Where the root stays, the new part fails too. Two roots may have worked at once.")))
	return s
}

// troubleHead numbers the troubles.
func troubleHead(i int) string {
	if i == 0 {
		return "Trouble 1"
	}
	return fmt.Sprintf("Trouble %d, besides", i+1)
}

// troubleLines says what failed and what would prove that wrong, what failed with
// it, what brought it on, and what it is if it is not that.
func troubleLines(r *engine.Report, t *chances.Trouble) []doc.Item {
	first, alone := t.Failed[0], standsAlone(t)
	out := []doc.Item{behind(failedLead(first, alone), toldCause(first))}
	out[0].Below = doc.Items(wrongLine(t))
	add := func(lead string, lines []doc.Item) {
		switch len(lines) {
		case 0:
		case 1:
			out = append(out, behind(lead, lines[0]))
		default:
			out = append(out, doc.Item{Strong: lead, Below: lines})
		}
	}
	add(withLead(t.Failed[1:]), toldFew(t.Failed[1:]))
	if !alone {
		shown := shownRoots(t)
		roots := append(doc.Each(words.AlikeRoots(shown), func(alike []chances.Root) doc.Item { return rootLine(r, alike) }), doc.Items(moreRoots(t, shown), nothingDeeper(t))...)
		add(broughtLead(t, ""), roots)
	}
	if !first.Proved {
		add("If it is not that:", toldFew(others(r, t)))
	}
	return out
}

// standsAlone says whether what is told first is a root that nothing brought on.
func standsAlone(t *chances.Trouble) bool {
	return t.Failed[0].Role == string(rules.Root) && len(t.BroughtOnBy) == 0
}

// broughtLead stands before the roots of a trouble; which of them is "" for all.
func broughtLead(t *chances.Trouble, which string) string {
	return cmp.Or(doc.If(t.Failed[0].Proved, "What "), "If so, what ") + which + "brought it on:"
}

func nothingDeeper(t *chances.Trouble) string {
	return bracketed("Nothing deeper"+doc.If(len(t.BroughtOnBy) == 0, " that the rulebook knows")+": wear, age or chance", words.Likely(t.ByItself)) + "."
}

// failedLead says no more than the chance of a cause does.
func failedLead(c chances.Told, alone bool) string {
	switch {
	case c.Proved && alone:
		return "What is wrong:"
	case c.Proved:
		return "What failed:"
	case words.MoreLikelyThanNot(c.Probability) && alone:
		return "What is probably wrong:"
	case words.MoreLikelyThanNot(c.Probability):
		return "What probably failed:"
	case alone:
		return "What may be wrong:"
	}
	return "What may have failed:"
}

// toldCause is a line that names a cause with its chance, or says that it is
// proved; of several that differ in their place alone it names each place.
func toldCause(alike ...chances.Told) doc.Item {
	var places []evidence.Place
	for _, c := range alike {
		places = append(places, c.Place)
	}
	return of(words.AtEach(alike[0].Title, places, toldChance(alike[0]))+".", "cause", alike[0].Cause, alike[0].Title)
}

func toldChance(c chances.Told) string {
	return cmp.Or(doc.If(c.Proved, words.Proved), words.Likely(c.Probability))
}

// toldFew are the lines of the first of some causes.
func toldFew(list []chances.Told) []doc.Item {
	lines := doc.Each(words.Alike(list, func(c chances.Told) string { return c.Cause + " " + toldChance(c) }), func(alike []chances.Told) doc.Item { return toldCause(alike...) })
	return lines[:min(len(lines), mostWith)]
}

// withLead says no more of what failed besides than its chance does.
func withLead(with []chances.Told) string {
	if len(with) > 0 && !words.MoreLikelyThanNot(with[0].Probability) {
		return "And perhaps with it:"
	}
	return "And with it:"
}

// shownRoots are the likeliest roots of a trouble, without those of almost no
// chance; those that differ in their place alone take one line.
func shownRoots(t *chances.Trouble) []chances.Root {
	likely := slices.DeleteFunc(slices.Clone(t.BroughtOnBy), func(r chances.Root) bool { return r.Probability < leastOfRoot })
	lines := words.AlikeRoots(likely)
	return slices.Concat(lines[:min(len(lines), mostRoots)]...)
}

// moreRoots says how many roots are not shown, and how likely each is at most.
func moreRoots(t *chances.Trouble, shown []chances.Root) string {
	left := slices.DeleteFunc(slices.Clone(t.BroughtOnBy), func(r chances.Root) bool { return slices.Contains(shown, r) })
	if len(left) == 0 {
		return ""
	}
	most := words.Percent(left[0].Probability)
	switch {
	case left[0].Probability < leastOfRoot:
		most = "under 5 %"
	case len(left) > 1:
		most += " or less"
	}
	return fmt.Sprintf("%d %sroot%s, %s%s.", len(left), doc.If(len(shown) > 0, "more "), doc.If(len(left) > 1, "s"), doc.If(len(left) > 1, "each "), most)
}

// rootLine names a root with its chance, and the way by which it brought the
// failure on.
func rootLine(r *engine.Report, alike []chances.Root) doc.Item {
	there := func(root chances.Root) bool {
		return slices.ContainsFunc(r.Confirmed, func(c chances.Confirmed) bool { return c.Cause == root.Cause && c.Place == root.Place })
	}
	var proved []evidence.Place
	for _, root := range alike {
		if there(root) {
			proved = append(proved, root.Place)
		}
	}
	line := of(words.Root(alike...)+".", "cause", alike[0].Cause, alike[0].Title)
	if through := alike[0].Through; through != "" {
		line = oneLine(" By way of: ", line, of(titleOf(r, through)+".", "cause", through, titleOf(r, through)))
	}
	switch {
	case len(proved) == 0:
	case len(alike) > 1:
		line.Text += " It is proved to be there: " + words.Places(proved, ", ") + "."
	default:
		line.Text += " It is proved to be there."
	}
	return line
}

// titleOf is the title of a cause of the answer.
func titleOf(r *engine.Report, cause string) string {
	for _, c := range r.Causes {
		if c.Cause == cause {
			return c.Title
		}
	}
	for _, c := range r.Confirmed {
		if c.Cause == cause {
			return c.Title
		}
	}
	return cause
}

// wrongLine says what would speak most against what is told first.
func wrongLine(t *chances.Trouble) string {
	w := t.Wrong
	switch {
	case t.Failed[0].Proved:
		return ""
	case w == nil, w.Then > (1-leastFall)*t.Failed[0].Probability:
		return "No single look or answer would prove it wrong."
	}
	shows := doc.If(w.Check != "", "finds nothing") + doc.If(w.Check == "", "does not show")
	return fmt.Sprintf("If %q %s, its chance falls to %s (%s).", words.Titled(w.Title, w.Place), shows, words.Percent(w.Then), words.Likelihood(w.Then))
}

// others are the causes that it is if it is not that; where the answer has none,
// the likeliest that no trouble tells, so that no cause stands alone: one that
// explains a finding that the trouble explains, too, if there is one.
func others(r *engine.Report, t *chances.Trouble) []chances.Told {
	if len(t.Or) > 0 {
		return t.Or
	}
	var behind []chances.Reason
	for _, c := range r.Causes {
		if c.Cause == t.Failed[0].Cause && c.Place == t.Failed[0].Place {
			behind = c.For
		}
	}
	var out []chances.Told
	for _, c := range r.Causes {
		if slices.ContainsFunc(r.Troubles, func(t chances.Trouble) bool { return tells(&t, c.Cause, c.Place) }) {
			continue
		}
		told := []chances.Told{{Cause: c.Cause, Place: c.Place, Title: c.Title, Role: c.Role, Probability: c.Probability}}
		if slices.ContainsFunc(c.For, func(a chances.Reason) bool {
			return slices.ContainsFunc(behind, func(b chances.Reason) bool { return a.Finding == b.Finding })
		}) {
			return told
		}
		if out == nil {
			out = told
		}
	}
	return out
}

// tells says whether a trouble tells a cause as what failed, as a root, or as what
// it is instead.
func tells(t *chances.Trouble, cause string, place evidence.Place) bool {
	same := func(c chances.Told) bool { return c.Cause == cause && c.Place == place }
	return slices.ContainsFunc(t.Failed, same) || slices.ContainsFunc(t.Or, same) ||
		slices.ContainsFunc(t.BroughtOnBy, func(c chances.Root) bool { return c.Cause == cause && c.Place == place })
}

const rootLooked = "Root looked at: "

// rootBlanks ask of each root that a step looks for, or that the repair of what
// was proved leaves, whether it was looked at.
func rootBlanks(r *engine.Report, t *chances.Trouble) []doc.Blank {
	var out []doc.Blank
	for _, root := range shownRoots(t) {
		i := slices.IndexFunc(r.Steps, func(s work.Step) bool {
			return s.Kind == work.StepCheck && (s.Place == root.Place || s.Place == evidence.Place{}) && slices.Contains(s.Looks, root.Title)
		})
		left := slices.ContainsFunc(r.Confirmed, func(c chances.Confirmed) bool { return slices.Contains(c.RootsLeft, root) })
		if i >= 0 || left {
			label := rootLooked + words.Titled(root.Title, root.Place)
			if i >= 0 {
				label = bracketed(label, words.Steps([]int{r.Steps[i].Number}))
			}
			out = append(out, doc.Blank{Label: label + ":", Boxes: []string{"yes", "no"}})
		}
	}
	return out
}

// allRootBlanks are those of all troubles.
func allRootBlanks(r *engine.Report) []doc.Blank {
	var out []doc.Blank
	for i := range r.Troubles {
		out = append(out, rootBlanks(r, &r.Troubles[i])...)
	}
	return out
}

// roleNote says as what a cause is told, and of a failure what brought it on.
func roleNote(c chances.Cause) string {
	note := ""
	switch rules.Role(c.Role) {
	case rules.Failure:
		note = "A failure"
	case rules.Root:
		note = "A root"
	}
	if note == "" || len(c.BroughtOnBy) == 0 {
		return doc.If(note != "", note+".")
	}
	if root := c.BroughtOnBy[0]; root.Probability >= c.ByItself {
		return note + ". Likeliest root: " + words.Root(root) + "."
	}
	return note + bracketed(". Likeliest: nothing deeper", words.Likely(c.ByItself)) + "."
}

// noRivals says that a failure and its root are both in a list of causes, where
// they are.
func noRivals(shown []chances.Cause) string {
	for _, c := range shown {
		for _, root := range c.BroughtOnBy {
			if slices.ContainsFunc(shown, func(o chances.Cause) bool { return o.Cause == root.Cause && o.Place == root.Place }) {
				return "A failure and its root both stand in this list. They are no rivals."
			}
		}
	}
	return ""
}
