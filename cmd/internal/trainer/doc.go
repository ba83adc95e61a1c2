// Package trainer talks with a trainee at the practice pump and asks the
// questions of a quiz: numbered menus, short sentences. What is right and what
// is safe is decided by engine/practice.
//
// It imports cmd/internal/talk, cmd/internal/page, engine, engine/practice,
// evidence and rules.
package trainer
