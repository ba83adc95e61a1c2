// Package rules is the rulebook: which causes there are, which signs they
// show and how often, which checks expose them, what must be opened and made
// safe first, and when to stop. All of it is YAML under rules/book, embedded in
// the program; nothing that a practitioner might dispute stands in Go.
//
// A book is the files of one folder taken together. DEVELOPERS.md describes
// the format; every entry has a basis, and every mistake is reported with its
// place. A book may come from a stranger: size, depth and the power of its
// conditions are bounded.
//
// It imports telltale/evidence (for words, levels and quantities) and
// telltale/evidence/source. It does not import the engine.
package rules
