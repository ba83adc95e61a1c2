// Package practice is a pump with hidden faults for a trainee, and short
// written questions. The hidden world is drawn once, from the same model that
// weighs cases: which causes are there, which sign each of them and the
// background shows at each place, and which cause each check would expose. It
// is the same for the same seed. A Session lets a trainee look, open, check
// and name the cause, and lets no step through before what must come before
// it; the review holds every choice against the list that telltale gives.
//
// It imports engine, engine/figures, evidence and rules.
package practice
