package prompt

// Turn is a prompt with what each answer to it leads to: another prompt, or the
// end of an answer with what it comes to, a value of type R. It is made anew from
// the state of a talk whenever it is needed and is never kept.
type Turn[R any] struct {
	Prompt
	Take func(Answer) Turn[R] // nil at the end
	End  R                    // what the whole answer comes to
}

// End ends an answer with what it comes to.
func End[R any](r R) Turn[R] { return Turn[R]{End: r} }

// After follows what was answered already, and gives the turn that is reached.
// It stops before an answer that its prompt does not take.
func (t Turn[R]) After(said []Answer) Turn[R] {
	for _, a := range said {
		if t.Take == nil || t.Check(a) != nil {
			return t
		}
		t = t.Take(a)
	}
	return t
}
