// Package cli is the command line: one file per command. A command reads its
// input, calls the engine once and has package pages lay its answer out; it
// holds no trade knowledge and does no arithmetic.
package cli
