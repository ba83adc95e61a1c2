// Package pumping holds the numbers of a reciprocating mud pump: what it
// displaces, how hard it loads its rods and crosshead guides, how evenly it
// draws and delivers, how much of its volume goes missing, and how much
// pressure is left in the suction.
//
// Everything is in SI: m, m3, m3/s, Pa, N, W, kg/m3, rad, strokes per second.
// One stroke, here as on a stroke counter, is one full turn of the crank: a
// triplex then gives three chambers, a duplex four.
//
// Axes: a crank angle of 0 has the piston at the head end, nearest the fluid
// end, and grows the way the crank turns. From 0 to pi the piston comes back
// (the return stroke), from pi to 2 pi it goes toward the fluid end (the
// forward stroke, on which a head end discharges).
//
// Numbers above 1e12 in their unit, or below 1e-12 where zero is barred, are
// refused, so that no answer can overflow. So are NaN, infinity and impossible
// geometry.
//
// It is leaf mathematics and imports nothing of telltale.
package pumping
