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
// Impossible geometry is refused, and so is a number above 1e12 in its unit, or
// below 1e-12 where zero is barred, that something is divided by. A rate or a
// pressure is what a case can hold, from 0 to 1e12: no answer can overflow.
package pumping
