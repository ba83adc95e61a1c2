package practice

import (
	"slices"
	"strings"

	"telltale/rules"
)

// The question about roots: a failure and how it shows, and what is looked at before
// the new part runs.

// clearFind is how surely a check must find a root to be the answer.
const clearFind = 0.5

// behind asks for the check that finds what brought a failure on. It shows in a way
// in which this bring shows it often. The other checks find neither the failure nor
// anything that may bring it on so.
func (z *quizzer) behind() (Question, bool) {
	causes := z.causes()
	root := causes[z.random.IntN(len(causes))]
	brings := root.BringsFor(z.k, z.b)
	q := Question{Topic: Behind, Action: z.action}
	if len(brings) == 0 {
		return q, false
	}
	bring := brings[z.random.IntN(len(brings))]
	failed := z.b.Causes.Get(bring.Cause)
	clear := z.clearLinks(bring.Shows)
	if failed.Role != rules.Failure || len(clear) == 0 {
		return q, false
	}
	sign := clear[z.random.IntN(len(clear))]
	so, ever := z.bringing(failed, func(b rules.Bring) bool { return z.among(b.Links(failed, z.k, z.b), sign) > 0 }), z.bringing(failed, func(rules.Bring) bool { return true })
	var right, near, far []option
	for _, c := range z.b.Checks.List {
		if !c.When.Holds(z.k, z.b) {
			continue
		}
		finds := func(cause string) float64 {
			i := slices.IndexFunc(c.Finds, func(f rules.Find) bool { return f.Cause == cause })
			if i < 0 {
				return 0
			}
			return c.Finds[i].Sure
		}
		o := option{c.ID, z.text(c.Title)}
		switch {
		case finds(root.ID) >= clearFind && finds(failed.ID) == 0:
			right = append(right, o)
		case finds(failed.ID) > 0 || slices.ContainsFunc(c.Finds, func(f rules.Find) bool { return so[f.Cause] }):
		case slices.ContainsFunc(c.Finds, func(f rules.Find) bool { return ever[f.Cause] }):
			near = append(near, o)
		default:
			far = append(far, o)
		}
	}
	if len(right) == 0 {
		return q, false
	}
	q.Signs, q.Failed = []SignKind{sign}, failed.ID
	q.Text = []string{
		"On " + z.pumpWord() + " this failed, and it shows like this:", "- " + z.text(failed.Title), "- " + z.signText(sign),
		"Which of these do you do before the new part runs?",
	}
	q.Why = strings.TrimSuffix(z.text(root.Title), ".") + " brings it on so. " + z.text(root.Why)
	// Checks for what brings it on in another way are harder, so they come first.
	z.random.Shuffle(len(near), func(i, j int) { near[i], near[j] = near[j], near[i] })
	z.random.Shuffle(len(far), func(i, j int) { far[i], far[j] = far[j], far[i] })
	near = near[:min(len(near), Answers-1)]
	return q, z.fill(&q, right[z.random.IntN(len(right))], append(near, far[:min(len(far), Answers-1-len(near))]...))
}

// bringing gives the causes that may bring another one on, directly by a bring that
// counts or through others.
func (z *quizzer) bringing(failed *rules.Cause, counts func(rules.Bring) bool) map[string]bool {
	out := map[string]bool{}
	for range rules.MostDeep {
		for _, c := range z.causes() {
			for _, b := range c.BringsFor(z.k, z.b) {
				if b.Cause == failed.ID && counts(b) || out[b.Cause] {
					out[c.ID] = true
				}
			}
		}
	}
	return out
}

// clearLinks are the signs, with their kinds, that links show often.
func (z *quizzer) clearLinks(links []rules.Link) []SignKind {
	var clear []SignKind
	for _, link := range links {
		s := z.b.Signs.Get(link.Sign)
		if s.Reckoned || !s.When.HoldsForPump(&z.k.Pump) {
			continue
		}
		if len(s.Kinds) == 0 && link.Total >= clearLink {
			clear = append(clear, SignKind{s.ID, ""})
		}
		for i, kind := range s.Kinds {
			if link.Kinds[i] >= clearLink {
				clear = append(clear, SignKind{s.ID, kind.ID})
			}
		}
	}
	return clear
}

// among is how often links show a sign in a kind.
func (z *quizzer) among(links []rules.Link, s SignKind) float64 {
	for _, link := range links {
		if link.Sign != s.Sign {
			continue
		}
		for i, kind := range z.b.Signs.Get(s.Sign).Kinds {
			if kind.ID == s.Kind {
				return link.Kinds[i]
			}
		}
		return link.Total
	}
	return 0
}
