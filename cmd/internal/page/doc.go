// Package page writes a Report for people and programs: plain text, Markdown
// and JSON. It computes nothing; what it prints stands in the Report.
//
// It imports telltale/engine only, and is the only importer of the table
// library.
package page
