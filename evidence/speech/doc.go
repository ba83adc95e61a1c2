// Package speech cuts what somebody said or typed into words, with the bytes
// where each stands, its stem, and the number that it is.
//
// It knows English spelling and nothing of pumps: apostrophes that are there or
// forgotten ("isn't", "isnt" are "is not"), numbers in figures and in words
// ("2,800", "twenty-four hundred", "6 1/2"), words that run into a figure
// ("2800psi", "#2"). A stem is that of the Snowball stemmer for English
// (Porter 2001), of a library.
//
// It imports nothing of telltale.
package speech
