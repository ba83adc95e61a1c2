// Package measure says what a reading is worth: its best estimate with its standard
// uncertainty, how sure it is that a limit is kept, and what several readings say
// together (their mean and spread, a small least-squares fit).
//
// All lengths are metres. Uncertainties are standard uncertainties in the sense of the
// GUM (JCGM 100:2008, Evaluation of measurement data: Guide to the expression of
// uncertainty in measurement); decisions near a limit follow JCGM 106:2012 (The role of
// measurement uncertainty in conformity assessment). Values are taken as independent
// unless a covariance is given.
//
// A judgement or a fit of bad input (not a number, infinite, beyond 1e12, or an uncertainty
// below 0) gives an error, never a NaN.
package measure
