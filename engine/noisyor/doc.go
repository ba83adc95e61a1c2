// Package noisyor computes the exact posterior of independent causes under
// noisy-OR evidence, with non-negative arithmetic only.
//
// # Model
//
// Cause c is present with probability Prior[c], independent of the others. A
// present cause answers an observation by itself: with mass Yes it yields what
// was observed, with mass No it yields nothing, and with what is left it
// yields something that contradicts the observation (another kind). The
// background does the same. An observation that was made needs at least one
// source that yields it and none that contradicts; an observation that was
// denied needs every source to yield nothing:
//
//	P(f=0 | causes) = No_background * prod over present c of No_cf
//
// # Method
//
// The state is the set S of positive observations already explained. A cause
// that is present with mass on = prior * prod over denied f of No_cf, absent
// with mass off = 1 - prior, turns the vector v over the sets into
//
//	v' = off v + on A v,   (A v)[S with i] += Yes_i v[S],   (A v)[S] *= No_i
//
// for each of its observations i. Forwards and backwards together give
//
//	P(c, evidence) = on <v, A' g>,   P(not c, evidence) = off <v, g>
//
// with g the vector that the causes behind c pull back from "everything is
// explained". No term is negative, so nothing cancels; inclusion-exclusion
// over the positives (Heckerman 1989, A Tractable Inference Algorithm for
// Diagnosing Multiple Diseases) has the same cost and loses all digits when
// priors are small. The scheme is variable elimination under causal
// independence (Zhang and Poole 1996). Both citations are from memory.
//
// A positive observation takes a bit of the state only from the first to the
// last cause that touches it and another positive; causes that touch one
// positive alone are folded into its background. Time is
// O(causes * links * 2^width), memory O(sqrt(causes) * 2^width), where width is
// the greatest number of bits alive at once; past Solver.MaxWidth the solver
// refuses.
//
// The package imports nothing of telltale.
package noisyor
