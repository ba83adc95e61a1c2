// Package lives says what a record of part changes shows: how long parts last (the ages
// by which one in ten and half have failed) and how they
// end (early, by chance or worn out), whether they last less at one place than at its
// sisters, whether they last less and less, whether they last less than they should, how
// likely one fails in the hours ahead, and at which age it is best changed before it fails.
//
// # What it takes for granted
//
// A part has a life: the hours from its fitting to the change that ended it. Lives are
// independent, and lives at one place come from one distribution; nothing is taken of
// its form where places or times are compared, and a
// Weibull distribution where a life is forecast. Places that are not shown to differ
// are taken together (Groups).
//
//   - A part that still runs, or that was changed while it was still good, has lasted at
//     least so long: its life is censored.
//   - The part that was in when the record starts has lasted at least as long as the
//     record shows, unless it was new there. Its end is not counted. Lives come out a
//     little too long by that, at every place alike.
//   - A set that was changed together, because one of it had failed, is one failure. The
//     package cannot see the difference; it only counts changes that share an hour
//     (Record.Together).
//
// Nothing here knows why a part failed.
package lives
