// Package page writes a Report, a rulebook and the outcome of its proving
// cases for people and programs: plain text, Markdown and JSON. It computes
// nothing; what it prints stands in what it is given.
//
// It imports telltale/engine, telltale/engine/prove, telltale/evidence and
// telltale/rules, and is the only importer of the table library.
package page
