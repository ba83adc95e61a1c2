// Package engine answers a case by a rulebook: how likely each cause is, why,
// how long it can wait, what to ask next, and in which safe order to look. It
// is the door to its two rooms and holds the Report, which has everything that
// a view prints; no view computes.
//
//   - chances says what is there: a case is laid over the book once, its readings
//     worked out and turned into findings, and weighed.
//   - work says what to do: the list of steps, the plan to open the pump once.
package engine
