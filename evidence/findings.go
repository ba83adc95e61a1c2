package evidence

import (
	"slices"
	"strings"

	"telltale/evidence/source"
)

// claim is one line of a finding before the lines are weighed together.
type claim struct {
	answer Answer
	kind   string
	at     Place
	over   []Place
	pos    source.Pos
}

func (r *caseReader) readFindings(n *source.Node) {
	for _, p := range n.Entries(r.problems, "findings") {
		if !knownName(r, p.Key, "sign", r.words.Signs) {
			continue
		}
		word := r.words.Signs[p.Key.Text]
		if word.Applies != nil && !word.Applies(&r.out.Pump) {
			r.problems.Add(p.Key.Pos, source.DoesNotFit, "%s cannot be seen on a %s pump", p.Key.Text, r.out.Pump.Action)
			continue
		}
		r.readFinding(p.Key, p.Value, word)
	}
}

func (r *caseReader) readFinding(key, value *source.Node, word SignWord) {
	before := r.problems.Len()
	claims := r.known(key, r.claims(key, value, word))
	if r.problems.Len() > before {
		return
	}
	for _, c := range r.settle(key, claims) {
		r.out.Findings = append(r.out.Findings, Finding{
			Sign: key.Text, Answer: c.answer, Kind: c.kind, At: c.at, Over: c.over, Pos: c.pos,
		})
	}
}

// claims reads one finding: a single answer for the whole pump, or a mapping
// of answers to places or of places to answers.
func (r *caseReader) claims(key, value *source.Node, word SignWord) []claim {
	switch value.Kind {
	case source.Null:
		return nil
	case source.Scalar:
		answer, kind, ok := r.answer(value, word)
		if !ok {
			return nil
		}
		return []claim{{answer: answer, kind: kind, over: r.out.Pump.Places(word.Level), pos: value.Pos}}
	case source.Mapping:
		return r.claimsByPlace(key, value, word)
	}
	r.problems.Add(value.Pos, source.WrongForm, "%s must be %s; read %s", key.Text, source.Want("an answer ("+strings.Join(word.Answers(), ", ")+") or answers by cylinder"), value.Kind)
	return nil
}

// Statement is one line of a finding, before the lines are weighed together: what
// was answered, and of what place; the zero Place stands for somewhere or, with
// absent and unknown, for all.
type Statement struct {
	Answer string // present, absent, unknown or a kind
	At     Place
}

// Statements reads the lines of a finding that is right.
func Statements(n *source.Node, layout Layout, word SignWord) []Statement {
	r := caseReader{problems: &source.Problems{}, out: &Case{Pump: Pump{Layout: layout}}}
	var out []Statement
	for _, c := range r.claims(&source.Node{}, n, word) {
		answer := c.kind
		if answer == "" {
			answer = string(c.answer)
		}
		if answer == "" {
			answer = Unknown
		}
		out = append(out, Statement{answer, c.at})
	}
	return out
}

// answer reads one word. An empty answer means unknown: no finding.
func (r *caseReader) answer(n *source.Node, word SignWord) (Answer, string, bool) {
	switch text := n.Word(r.problems, "answer", word.Answers()); text {
	case "":
		return "", "", false
	case "present", "absent":
		return Answer(text), "", true
	case "unknown":
		return "", "", true
	default:
		return Present, text, true
	}
}

func (r *caseReader) claimsByPlace(key, value *source.Node, word SignWord) []claim {
	if word.Level == OfPump {
		r.problems.Add(value.Pos, source.WrongPlace, "%s belongs to the whole pump; write one answer, without cylinders", key.Text)
		return nil
	}
	var claims []claim
	var others *source.Pair
	named := map[Place]bool{}
	for i := range value.Pairs {
		pair := &value.Pairs[i]
		if slices.Contains(word.Answers(), pair.Key.Text) {
			if pair.Value.Kind == source.Scalar && pair.Value.Text == "others" {
				if others != nil {
					r.problems.Add(pair.Value.Pos, source.Twice, "others stands twice; it is said first at line %d", others.Value.Pos.Line)
				}
				others = pair
				continue
			}
			claims = append(claims, r.claimsOfAnswer(pair, word)...)
			continue
		}
		place, ok := r.findingPlace(pair.Key, word)
		if !ok {
			continue
		}
		answer, kind, ok := r.answer(pair.Value, word)
		if !ok {
			continue
		}
		claims = append(claims, claim{answer: answer, kind: kind, at: place, pos: pair.Key.Pos})
	}
	layout := r.out.Pump.Layout
	for i := range claims {
		claims[i].over = layout.Under(claims[i].at, word.Level)
		if claims[i].at == (Place{}) {
			continue // "somewhere" names no place
		}
		for _, p := range claims[i].over {
			named[p] = true
		}
	}
	if others != nil {
		claims = append(claims, r.claimsOfOthers(others, word, named)...)
	}
	return claims
}

// known notes what the crew does not know or did not look at, and drops it.
func (r *caseReader) known(key *source.Node, claims []claim) []claim {
	var out []claim
	for _, c := range claims {
		if c.answer != "" {
			out = append(out, c)
			continue
		}
		for _, p := range c.over {
			r.out.NotKnown = append(r.out.NotKnown, At{ID: key.Text, Place: p, Pos: c.pos})
		}
	}
	return out
}

// somewhere stands for a place that is not known, beside others that are.
const somewhere = "somewhere"

// claimsOfAnswer reads `present: [2, 3]`, `absent: all`, `present: somewhere`.
func (r *caseReader) claimsOfAnswer(pair *source.Pair, word SignWord) []claim {
	if pair.Value.Kind == source.Scalar && pair.Value.Text == "all" {
		return r.claimsOfOthers(pair, word, nil)
	}
	answer, kind, _ := r.answer(pair.Key, word)
	var out []claim
	for _, item := range pair.Value.Scalars(r.problems, "the cylinders") {
		if item.Text == somewhere && answer == Present {
			out = append(out, claim{answer: answer, kind: kind, pos: item.Pos})
			continue
		}
		if place, ok := r.findingPlace(item, word); ok {
			out = append(out, claim{answer: answer, kind: kind, at: place, pos: item.Pos})
		}
	}
	return out
}

func (r *caseReader) claimsOfOthers(pair *source.Pair, word SignWord, named map[Place]bool) []claim {
	answer, kind, _ := r.answer(pair.Key, word)
	var out []claim
	for _, p := range r.out.Pump.Places(word.Level) {
		if !named[p] {
			out = append(out, claim{answer: answer, kind: kind, at: p, over: []Place{p}, pos: pair.Key.Pos})
		}
	}
	return out
}

func (r *caseReader) findingPlace(n *source.Node, word SignWord) (Place, bool) {
	p, allowed, ok := r.out.Pump.Find(n.Text)
	if !ok {
		r.problems.Add(n.Pos, source.UnknownPlace, "%q is neither a cylinder of this pump nor an answer%s", source.Clip(n.Text), source.Expected(n.Text, append(allowed, word.Answers()...)))
		return p, false
	}
	return p, r.fits(n, p, word.Level)
}

// settle weighs the lines of one finding together: it refuses contradictions,
// and drops what another line already says more exactly.
func (r *caseReader) settle(key *source.Node, claims []claim) []claim {
	exact := map[Place]claim{}
	before := r.problems.Len()
	for _, c := range claims {
		if c.answer == Present && len(c.over) > 1 {
			continue
		}
		for _, p := range c.over {
			r.merge(key, exact, p, c)
		}
	}
	if r.problems.Len() > before {
		return nil
	}
	var out []claim
	done := map[Place]bool{}
	vague := map[Place]claim{} // by the place as the crew named it
	for _, c := range claims {
		if c.answer == Present && len(c.over) > 1 {
			if r.saidBefore(key, vague, &c) {
				continue
			}
			if rest, keep := r.narrow(key, c, exact); keep {
				out = append(out, rest)
			}
			continue
		}
		if c.answer == Absent {
			c.over = fresh(c.over, done)
			if len(c.over) > 0 {
				out = append(out, c)
			}
			continue
		}
		if p := c.over[0]; !done[p] {
			done[p] = true
			out = append(out, exact[p])
		}
	}
	return out
}

// saidBefore merges lines that say the same of one place whose end, or
// cylinder, is not known; two kinds for it exclude each other.
func (r *caseReader) saidBefore(key *source.Node, vague map[Place]claim, c *claim) bool {
	old, twice := vague[c.at]
	if !twice {
		vague[c.at] = *c
		return false
	}
	if c.kind != "" && old.kind != "" && c.kind != old.kind {
		r.problems.Add(c.pos, source.Excludes, "%s%s is %s here and %s at line %d; name the end or cylinder of each", key.Text, of(c.at), c.kind, old.kind, old.pos.Line)
	}
	if c.kind != "" && old.kind == "" {
		r.problems.Add(c.pos, source.Excludes, "%s%s is said twice, here of kind %s and at line %d without; keep one", key.Text, of(c.at), c.kind, old.pos.Line)
	}
	return true
}

func fresh(over []Place, done map[Place]bool) []Place {
	var out []Place
	for _, p := range over {
		if !done[p] {
			done[p] = true
			out = append(out, p)
		}
	}
	return out
}

// merge notes one answer for one place beside what was said of it before.
func (r *caseReader) merge(key *source.Node, exact map[Place]claim, p Place, c claim) {
	old, twice := exact[p]
	switch {
	case !twice:
		c.over = []Place{p}
		exact[p] = c
	case old.answer != c.answer:
		r.problems.Add(c.pos, source.Excludes, "%s%s is %s here and %s at line %d; keep one", key.Text, of(p), c.answer, old.answer, old.pos.Line)
	case old.kind == "":
		c.over = []Place{p}
		exact[p] = c
	case c.kind != "" && c.kind != old.kind:
		r.problems.Add(c.pos, source.Excludes, "%s%s is %s here and %s at line %d; one finding has one kind", key.Text, of(p), c.kind, old.kind, old.pos.Line)
	}
}

func of(p Place) string {
	if p == (Place{}) {
		return ""
	}
	return " of " + p.String()
}

// narrow fits "somewhere in these places" to what is known of each of them.
func (r *caseReader) narrow(key *source.Node, c claim, exact map[Place]claim) (claim, bool) {
	var open []Place
	for _, p := range c.over {
		known, ok := exact[p]
		if !ok {
			open = append(open, p)
			continue
		}
		switch {
		case known.answer == Absent:
		case c.kind == "" || known.kind == c.kind:
			return c, false // said more exactly elsewhere
		case known.kind == "":
			open = append(open, p) // it shows there, and may be of this kind
		}
	}
	if len(open) == 0 {
		r.problems.Add(c.pos, source.Excludes, "%s is present%s here, but every place there is known not to show it; keep one", key.Text, of(c.at))
		return c, false
	}
	c.over = open
	return c, true
}
