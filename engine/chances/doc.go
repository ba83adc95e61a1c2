// Package chances says what is there: the door is Lay, which works out the
// readings of a case, turns them into findings and lays all of it over the book;
// Weigh then gives the chance of every cause, and what follows from that.
//
// The model. Every cause of the book is there once for each place it belongs
// to (pump, cylinder, chamber), independent of the others before anything is
// seen. A present cause shows each of its signs by itself with the chance
// of its link (noisy-OR), at every place that contains the cause's place or
// lies inside it; a sign also shows by itself with its background chance.
// The posterior of every cause is exact under that model (package noisyor).
// How common a cause is "somewhere in the pump" is shared evenly over its n
// places: p = 1 - (1 - P)^(1/n).
package chances
