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
// itself: with mass Yes it yields what was observed, with mass No it yields nothing, and
// with the mass left over it yields something that contradicts the observation (another
// kind). A present observation needs at least one source that yields it and none that
// contradicts it; an absent one needs every source to yield nothing (noisy OR, over the
// background and the sources that are on):
//
//	P(i absent  | sources) = product of No_i
//	P(i present | sources) = product of (Yes_i + No_i) - product of No_i
//
// The second line is only how to read the model: no such difference is ever taken.
//
// A present observation with a Doubt D > 0 is virtual evidence (Pearl 1988, Probabilistic
// Reasoning in Intelligent Systems, section 2.2.2, from memory): it multiplies what the
// sources predict by
//
//	P(i present | sources) + D * P(i absent | sources)
//
// # Formula
//
// The state v is a vector over the sets S of present observations explained so far. A
// source has the masses on = chance * product of No over the absent observations * what
// its own children weigh, and off = 1 - chance; they are scaled to a sum of one, and the
// sum goes into the mass of what it lies under, so that absent observations are folded in
// from the leaves to the roots. With Yes_i + No_i = 1 (the mass that does not contradict
// has moved into on) a source with the children 1..k is the operator
//
//	B v = off*v + on*(B_k ... B_1 A v),   A v: for each linked i, for each S without i,
//	                                           v[S+i] += Yes_i * v[S],  v[S] *= No_i
//
// and a tree is that of its root. With g[S] the probability of the evidence to come given
// S, carried backwards by the transposes of the same steps, the masses of a source, where
// what it lies under is on, are on * <B_k ... B_1 A v, g> and off * <v, g>, with v and g
// those right before and behind it in its tree. Going down the trees they give the
// probability of every source.
//
// A cause with one source needs no more. One with several is there in some way with
// the mass that ends in w, and in no way with the mass that ends in u, of the pair (u, w)
// that starts with (v, 0) and goes through the trees that hold it:
//
//	at a source of the cause    u' = off*u         w' = off*w + on*(B_k ... B_1 A (u + w))
//	at any other                both go through it by themselves
//
// The operators of different trees commute, and so do those of the children of a source,
// so v may hold all other trees, in whatever order. With w parted into there by itself only
// and brought on, and with a like pair for whether the cause shows something, one way
// through the trees tells how the cause came. What concerns one tree alone, such as the
// share of a root, is the same pair through that tree, with v and g right before and behind.
//
// All are sums of products of non-negative numbers, so every result keeps nearly all
// its digits however improbable the evidence is. Inclusion-exclusion over the present
// observations (Heckerman 1989, A Tractable Inference Algorithm for Diagnosing Multiple
// Diseases) takes about as long, but cancels; with small priors nothing may be left.
// The scheme here is variable elimination under causal independence (Zhang and Poole
// 1996, Exploiting Causal Independence in Bayesian Network Inference). Both papers are
// cited from memory.
//
// That a cause may come in several ways, each of which shows its signs by itself, is noisy
// OR with hidden causes (Heckerman and Breese 1996, Causal Independence for Probability
// Assessment and Inference Using Bayesian Networks, from memory). That one way is on only
// under the one it lies under keeps the ways trees, so that no junction tree is needed.
//
// # What keeps it small
//
//   - Absent observations, contradictions, and sources that are always or never on are
//     folded in first; a tree without a link to what is left keeps its masses.
//   - An observation takes a bit of the state only from the first to the last tree that
//     touches it. The most bits open at once are the width. The trees are put in an
//     order that keeps it small; parts without a common tree never share a bit.
//   - A source with one or two links and nothing under it is worked in at one walk.
//   - Among the trees of the causes with several sources, what touches one observation,
//     with all below it, is worked in as one more link of what it lies under.
//   - The causes with several sources are halved again and again. At each half the trees
//     are worked in that hold no cause of it, so that most are worked in once for many
//     causes, and what no other tree touches is closed. That takes about as long as 14
//     times the evidence for a hundred such causes; Problem.About saves what is not asked.
//   - A Solver can hold a problem that was reduced and planned once (Hold). A question
//     that adds an absent observation, or takes away what some sources yield, changes
//     shares only: those of the sources that it names, and of what they lie under.
//   - The forward states are kept up to 32 MB. Of a longer chain the second half is
//     worked through first, then the first half is run again.
//   - Where an observation is closed, the state is brought back near one by a power of
//     two.
//
// # Shape
//
// Time grows as links of all sources * 2^width, memory as trees * 2^width up to 32 MB and
// beyond that as log(trees) * 2^width. The benchmarks measure it. Processor time of one
// core of a machine that was busy with other work; alone it takes a third to a half:
//
//	150 causes, 300 brings (580 sources), present    4        8        12       16
//	  evidence                                       0.1 ms   0.3 ms   1.4 ms   50 ms
//	  evidence and every source                      0.2 ms   0.7 ms   4 ms     140 ms
//	  and ten of the causes that come in some ways   0.5 ms   1 ms     14 ms
//	  and all 97 of them                             1.5 ms   5 ms     69 ms    1.7 s
//	  and how each came (Chains)                     2.4 ms   9 ms     120 ms
//
// A source there has a link to one in eight of the present observations. With three in
// ten all causes take 12 ms at 8 and 230 ms at 12. Everything at 16 takes 41 MB. 150
// causes without brings, linked to three in ten, took 1.3 to 1.8 ms at 12 at the same
// time, and take half a millisecond alone; at 20 about half a second, in 160 MB.
//
// # Errors and limits
//
// ErrImpossible: the evidence has probability 0. TooWideError: the width is beyond
// Solver.MaxWidth, or more was wanted than the Budget has; the solver refuses and does not
// guess. One tree with links to more
// present observations than that is enough for it. InputError: a number or an
// index is out of bounds. The solver does not panic on bad input.
// Hold may refuse as too wide what Solve can do, since it keeps what is certain apart.
//
// Odds of a source below about 1e-300 before the present observations count as 0, and so
// do products of Yes masses below that over the observations open at once. An evidence
// too small for a float64 comes back as 0 without an error, with the posteriors still
// right.
package noisyor
