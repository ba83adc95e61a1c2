// Package sheet lays out what has to be on paper: the job sheet of a case, a
// blank sheet for readings, and the pages of align and output with their
// pictures. A page is one HTML file that loads nothing from outside, prints on
// A4 and Letter in black and white, and has the same content as Markdown. It
// computes nothing: figures come from engine, printed by cmd/internal/page.
//
// Of the project it imports cmd/internal/drawing, cmd/internal/page, engine,
// engine/figures, evidence and rules.
package sheet
