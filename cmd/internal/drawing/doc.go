// Package drawing makes SVG pictures from numbers: a rod in its opening, a
// crosshead between its guides, the load of the guides over
// a turn, what speaks for and against a cause, and the chance found against
// minutes. The figures come printed as the page prints them; here they are
// only put where they belong. Each picture says in words what it shows, is
// black on white and is understood without colour.
package drawing
