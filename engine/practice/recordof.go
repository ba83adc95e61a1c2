package practice

// RecordOf is an exercise as it goes into the trainee's file, without the time
// and the answers about corrections and shims.
func (s *Session) RecordOf(r *Review) Record {
	out := Record{
		Schema: RecordSchema, Seed: s.World.Seed, Level: s.World.Level, Pump: string(s.World.Action), Book: s.book.Digest,
		Causes: []string{}, Roots: []string{}, Named: []Named{}, End: s.End, Minutes: s.minutes,
		BestMinutes: r.Best.minutes, BestSolved: r.Best.proven(), Faults: len(s.Faults()),
	}
	v := s.Verdict()
	out.Passed, out.Unproved, out.Back = v.Passed, len(v.Unproved), len(v.Back)
	for _, t := range s.World.Troubles() {
		s.recordTrouble(&out, t)
	}
	for _, c := range s.Journal {
		if c.Do == Name || c.Do == Root {
			out.Named = append(out.Named, Named{Cause: c.ID, Of: c.Of.ID, Right: c.Right})
		}
	}
	return out
}

// recordTrouble counts whether what failed was named, and what brought it on. Of a
// root that brought nothing on it counts as what failed.
func (s *Session) recordTrouble(out *Record, t Trouble) {
	lead := s.Lead(t)
	out.Causes = append(out.Causes, lead.ID)
	out.FailuresAsked++
	if has(s.known.Confirmed, lead) {
		out.Failures++
	}
	if len(t.Failed) > 0 {
		out.Roots = append(out.Roots, t.Root.ID)
	}
	if len(t.Failed) == 0 && !s.World.asksRoot(t.Root.ID) {
		return
	}
	out.RootsAsked++
	if s.over(t) {
		out.RootsRight++
	}
}
