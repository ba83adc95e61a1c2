// Command telltale finds what is wrong with a drilling rig's mud pump.
package main

import (
	"os"

	"telltale/cmd/internal/cli"
)

func main() { os.Exit(cli.Main(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) }
