// Package record changes case files safely: what a crew says is written into
// the text without losing what was written by hand, and the file on disk is
// always the old text or the new one, whole, whatever happens in between.
//
// An Edit is one thing that was said; Apply turns edits and a text into a new
// text and is pure. A File is a case file as it was read; writing to it is
// refused, with what changed, when somebody else wrote to it in between.
package record
