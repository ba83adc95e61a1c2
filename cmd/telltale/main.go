// Command telltale finds what is wrong with a drilling rig's mud pump.
package main

import (
	"os"
	"runtime/debug"

	"telltale/cmd/internal/cli"
)

// heapGrowth lets the heap of a short run grow before it is swept: reading the
// rulebook is most of the work of one case. GOGC, if it is set, counts instead.
const heapGrowth = 400

func main() {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(heapGrowth)
	}
	os.Exit(cli.Main(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}
