// Package order puts steps in sequence so that causes come to light early,
// never placing a step before one that it depends on.
//
// The quantity that it keeps small is
//
//	J = sum over causes of w_c * E[T_c] = sum over steps of d_i * R(S_(i-1))
//
// with w_c the weight (probability) of a cause, T_c the time at which a check
// first exposes it, d_i the minutes of step i, S the steps done so far and
// R(S) = sum_c w_c * prod_(k in S)(1 - s_kc) the weight not yet exposed, s_kc
// being the chance that check k exposes cause c if it is there. A cause that no
// step exposes counts with the whole time.
//
// That is the sum of weighted completion times of scheduling theory when every
// cause is exposed by one check, and min-sum set cover when checks overlap.
// Greedy is the quick rule. Best starts from it and weighs sets of finished
// checks, each once: all of them where they are few enough, and then no order of
// the steps has a lower J; else the most promising of each size, and then it
// gives a bound on how far the order may be from the best.
//
// It is leaf mathematics and imports nothing of telltale.
package order
