// Package cli is the command line: one file per command. A command reads its
// input, calls the engine once and hands the Report to package page; it holds
// no trade knowledge and does no arithmetic.
//
// It imports telltale/engine, telltale/evidence, telltale/rules and
// telltale/cmd/internal/page.
package cli
