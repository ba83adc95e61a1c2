// Package hear understands a told story by the lexicon of a rulebook: which
// signs, works and checks it speaks of, at which places, there or not, what was
// only guessed, and which words it did not understand.
//
// A story is cut at its stops, commas and joining words into clauses. What a
// clause, or a few that follow each other, may say is every phrase of the
// lexicon that shares a word with it. A phrase counts by the words of it that
// are there, each by how few signs it speaks of (inverse document frequency,
// Spärck Jones 1972), by the share of the phrase that this is, and by the share
// of the clause that it explains. The cut that explains the story best is found
// by dynamic programming. Denial, places, numbers, guesses and what nobody
// looked at are read by small rules beside it, and what a clause leaves out is
// carried on from the one before; such a hit is never strong.
//
// It is deterministic and needs nothing but the book. It claims no chance: how
// strong a hit is says how well the words fit, not how likely the sign is.
//
// It imports telltale/evidence, telltale/evidence/speech and telltale/rules.
package hear
