package main

import (
	"flag"
	"path/filepath"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "rewrite the expected output of the scripts")

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"telltale": main})
}

// TestScripts runs real commands with their exact output.
func TestScripts(t *testing.T) {
	root, err := filepath.Abs("../../testdata")
	require.NoError(t, err)
	testscript.Run(t, testscript.Params{
		Dir:                 filepath.Join(root, "script"),
		UpdateScripts:       *update,
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Setup: func(e *testscript.Env) error {
			e.Setenv("CASES", filepath.Join(root, "cases"))
			e.Setenv("MISTAKES", filepath.Join(root, "mistakes"))
			e.Setenv("LC_ALL", "C")
			return nil
		},
	})
}
