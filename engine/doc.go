// Package engine weighs a case against a rulebook: how likely each cause is,
// why, what to ask next, and in which safe order to look.
//
// The model. Every cause of the book is there once for each place it belongs
// to (pump, cylinder, chamber), independent of the others before anything is
// seen. A present cause shows each of its signs by itself with the chance
// of its link (noisy-OR), at every place that contains the cause's place or
// lies inside it; a sign also shows by itself with its background chance.
// The posterior of every cause is exact under that model (package noisyor).
// How common a cause is "somewhere in the pump" is shared evenly over its n
// places: p = 1 - (1 - P)^(1/n).
//
// The engine imports telltale/evidence and telltale/rules, and its own
// packages noisyor (probabilities) and order (sequence of steps). Everything
// that a view prints is in the Report; no view computes.
package engine
