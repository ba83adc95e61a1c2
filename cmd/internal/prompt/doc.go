// Package prompt holds what a talk puts to somebody and what is answered, as
// values that can be written as JSON: a terminal and a page are two ways to show
// the one and to take the other. Nothing here knows how they do it.
package prompt
