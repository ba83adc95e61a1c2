// Package evidence is what the crew saw and measured on one pump: the case
// file, the pump's layout, quantities with units, and findings by place.
//
// A finding is present, absent, or, when nobody looked, not there at all:
// "not looked at" is never "no". The words that a case file may use (signs,
// kinds, causes, checks, recent work) come from a rulebook as a Vocabulary, so
// that a case is checked without this package knowing any rulebook.
//
// It imports only telltale/evidence/source.
package evidence
