// Package noisyor works out, exactly, how probable each of many causes is, some of which
// bring others on, after some observations were made and others were not. It uses
// non-negative arithmetic only.
//
// # Model
//
// A source is one way in which a cause is there: by itself, or brought on by another
// source; a cause is there when one of its sources is on. A source that lies under none is
// on with its Chance, whatever the others do; one that lies under another is on with its
// Chance where that one is, and else off. So the sources are trees, whose roots are
// independent. Each source that is on, and the background, answers each observation by
// itself: with mass Yes it yields
// what was observed, with mass No it yields nothing, and with the mass left over it
// yields something that contradicts the observation (another kind). A present
// observation needs at least one source that yields it and none that contradicts it; an
// absent one needs every source to yield nothing (noisy OR, over the background and the
// causes present):
//
//	P(i absent  | causes) = product of No_i
//	P(i present | causes) = product of (Yes_i + No_i) - product of No_i
//
// The second line is only how to read the model: no such difference is ever taken.
//
// A present observation with a Doubt D > 0 is virtual evidence (Pearl 1988, Probabilistic
// Reasoning in Intelligent Systems, section 2.2.2, from memory): it multiplies what the
// causes predict by
//
//	P(i present | causes) + D * P(i absent | causes)
//
// # Formula
//
// The state v is a vector over the sets S of present observations explained so far. Let
// cause c be present with share on = prior * product of No over the absent observations,
// and absent with share off = 1 - prior. Then, with Yes_i + No_i = 1 once the mass that
// does not contradict is moved into on,
//
//	v' = off*v + on*(A v),    A v: for each linked i, for each S without i,
//	                               v[S+i] += Yes_i * v[S],  v[S] *= No_i
//
// and with g[S] the probability of the evidence to come given S, carried backwards by
// the transposes of the same steps,
//
//	P(c, evidence) = on * <A v, g>,    P(not c, evidence) = off * <v, g>
//
// Both are sums of products of non-negative numbers, so every result keeps nearly all
// its digits however improbable the evidence is. Inclusion-exclusion over the present
// observations (Heckerman 1989, A Tractable Inference Algorithm for Diagnosing Multiple
// Diseases) takes about as long, but cancels; with small priors nothing may be left.
// The scheme here is variable elimination under causal independence (Zhang and Poole
// 1996, Exploiting Causal Independence in Bayesian Network Inference). Both papers are
// cited from memory.
//
// A cause is one step of the chain, whatever it does inside: its links are worked into
// a copy of the state (spread), and the copy is mixed with what was (mix).
//
// # What keeps it small
//
//   - Absent observations, contradictions, ruled out and confirmed causes are folded in
//     first; a cause without a link to what is left keeps its shares.
//   - An observation takes a bit of the state only from the first to the last cause that
//     touches it. The most bits open at once are the width. The causes are put in an
//     order that keeps it small; parts without a common cause never share a bit.
//   - The forward states are kept up to 32 MB. Of a longer chain the second half is
//     worked through first, then the first half is run again.
//   - Where an observation is closed, the state is brought back near one by a power of
//     two.
//
// # Shape
//
// Time grows as causes * links per cause * 2^width, memory as causes * 2^width up to
// 32 MB and beyond that as log(causes) * 2^width. With 150 causes, each linked to three
// in ten of the present observations, one core takes half a millisecond at 12
// observations and about half a second, in 160 MB, at 20. The benchmarks measure it.
//
// # Errors and limits
//
// ErrImpossible: the evidence has probability 0. TooWideError: the width is beyond
// Solver.MaxWidth; the solver refuses and does not guess. One cause with a link to more
// present observations than that is enough for it. InputError: a number or an
// index is out of bounds. The solver does not panic on bad input.
//
// Odds of a cause below about 1e-300 before the present observations count as 0, and so
// do products of Yes masses below that over the observations open at once. An evidence
// too small for a float64 comes back as 0 without an error, with the posteriors still
// right.
package noisyor
