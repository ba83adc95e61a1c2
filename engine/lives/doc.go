// Package lives says what a record of part replacements proves: how often a part
// is replaced and between what limits, whether one cylinder really is worse than
// its sisters, whether things are getting worse, and whether parts last less than
// they should.
//
// # What it takes for granted
//
// Every test starts from the same plain idea: replacements come at random at a
// steady rate (a Poisson process), and asks whether the record speaks against it.
//
//   - Only failures count. A set changed together, or a part changed because the
//     pump was open anyway, is not a failure; three parts of one set are not three
//     failures. The package cannot see the difference; it only counts replacements
//     that share an hour (Summary.Together).
//   - Parts that wear out after much the same time come more evenly than at random.
//     Then the limits here are too wide and the p values too large: the package
//     says "not shown" too often, not too seldom.
//   - The record's end was set by the clock, not by a failure, unless it is said
//     (Ending). Rates and comparisons always take a clock-set end.
//
// Nothing here knows why a part failed.
//
// # Which p
//
// Two-sided p values are central: twice the smaller tail, at most 1. So p is below
// alpha exactly when the interval of confidence 1-alpha leaves out "no difference".
// Other programs add up all outcomes that are no likelier than the one seen; their
// p can be smaller or larger and can contradict their own interval.
//
// It is leaf mathematics and imports nothing of the project.
package lives
