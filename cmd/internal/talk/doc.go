// Package talk shows the prompts of a talk in any terminal and reads the answers:
// text out, one line in, numbered options, no colour and no cursor movement.
package talk
