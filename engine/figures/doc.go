// Package figures works out what the readings of a case come to: where a rod
// stands and what shims would do, what a pump displaces and loses, what is left
// of the suction, and what the record of changed parts shows.
//
// It takes readings from evidence and limits, series and advice from rules,
// and leaves the arithmetic to engine/measure, engine/align, engine/pumping and
// engine/lives. Lengths are in metres, pressures in pascals, volumes in cubic
// metres, times in hours.
package figures
