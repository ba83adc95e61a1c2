// Package prove runs the proving cases of a rulebook: given these findings on
// this pump, expect these causes first, this as what failed and this as what
// brought it on, these chances, this check, this stop, and neither these stops
// nor these steps.
// The cases are YAML in the folder proofs beside the rulebook; the command and
// the tests use the same runner.
//
// Passing says that the book gives the answers that its keepers want. It is
// no measure of accuracy: the cases and the figures come from the same people.
//
// It imports telltale/evidence, telltale/evidence/source, telltale/rules and
// telltale/engine.
package prove
