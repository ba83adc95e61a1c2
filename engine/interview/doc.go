// Package interview decides what to say to the crew next: a stop, a question, a
// step of the list, a repair, or that nothing is left. It is a plain function
// of the rulebook, the case as it stands and what was done in this sitting, so
// that a conversation can be left and taken up again at any answer.
//
// It imports engine, evidence and rules.
package interview
