// Package align works out, from clearances round a rod in its opening, where the rod and
// the crosshead guide lie, and what shims under the guide would centre the rod.
//
// # Axes
//
// x runs toward the fluid end, 0 at the centre of the crosshead at mid stroke. s is where
// the crosshead stands: half a stroke back, 0, half a stroke forward. z is up, 0 on the
// centre line of the opening. With the clearances T above and B below the rod,
//
//	height z = (B - T)/2        lift wanted = (T - B)/2
//
// so a rod that hangs low asks for a positive lift: half of the upper less the lower
// clearance. Sideways y = (L - R)/2, positive toward the right. Shims under a guide do not
// move the rod sideways.
//
// # Model
//
// The crosshead sits on a straight guide z = a + b x; the rod leaves it at a small angle
// eps to the guide, all rigid. Then at plane x with the crosshead at s
//
//	z(s, x) = a + b x + eps (x - s)
//
// because the crosshead lifts the rod by a + b s and the rod slopes by b + eps over the
// x - s that remain. A tilted guide alone (eps = 0) gives the same z at every s: the rod
// slides along its own line. So a change of z along the stroke at one plane is -eps (rod
// out of square or bent, crosshead rocking) or a bowed guide; it is not tilt of the guide,
// and shims of different thickness do not cure it. One plane gives the mean height
// a + (b + eps) x and eps; telling a from b takes a second plane or a level on the guide.
//
// A plane whose distance is off by d has its heights off by (b + eps) d, all alike.
//
// Shims t_f and t_r under the supports at x_f and x_r lift plane x by
//
//	t(x) = t_r + (t_f - t_r) (x - x_r)/(x_f - x_r)
//
// and equal shims lift every plane alike, wherever the supports are.
//
// These are derived here from rigid-body geometry; no published worked example is known.
// All lengths are metres. In a result a is Guide.Height, b Guide.Slope and eps
// Guide.Skew.
package align
