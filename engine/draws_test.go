package engine

import "flag"

// A drawn case of the built-in book takes a tenth of a second, so each law is tried
// on 15 draws; -rapid.checks=100 asks for more.
func init() {
	if err := flag.Set("rapid.checks", "15"); err != nil {
		panic(err)
	}
}
