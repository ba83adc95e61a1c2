// Package pages composes each report once, as a Document: what it says, in which
// order, under which heading. Package doc writes it as text, Markdown and HTML.
// It computes nothing; what it shows stands in what it is given.
package pages
