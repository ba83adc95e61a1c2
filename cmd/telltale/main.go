// Command telltale finds what is wrong with a drilling rig's mud pump.
package main

import (
	"os"
	"runtime/debug"

	"telltale/cmd/internal/cli"
)

// heapGrowth lets a run of one case end before its heap is swept. GOGC, if it is
// set, counts instead.
const heapGrowth = 800

func main() {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(heapGrowth)
	}
	os.Exit(cli.Main(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}
