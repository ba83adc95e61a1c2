package main

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/cli"
	"telltale/rules"
)

var update = flag.Bool("update", false, "rewrite the expected output of the scripts")

func TestMain(m *testing.M) {
	testscript.Main(tests{m}, map[string]func(){"telltale": maskedMain})
}

// tests runs all tests, and takes away the program that was built for them.
type tests struct{ *testing.M }

func (t tests) Run() int {
	defer func() { os.RemoveAll(builtIn) }()
	return t.M.Run()
}

// builtIn is the folder of the program that was built; "" before.
var builtIn string

// build builds the program, once.
var build = sync.OnceValues(func() (path string, err error) {
	if builtIn, err = os.MkdirTemp("", "telltale"); err != nil {
		return "", err
	}
	path = filepath.Join(builtIn, "telltale.exe") // Windows starts nothing without the ending
	if out, err := exec.Command("go", "build", "-buildvcs=auto", "-o", path, ".").CombinedOutput(); err != nil {
		return "", fmt.Errorf("%w: %s", err, out)
	}
	return path, nil
})

// built is the real program, to be started as somebody starts it.
func built(t *testing.T) string {
	t.Helper()
	path, err := build()
	require.NoError(t, err)
	return path
}

// maskedMain is main, with its output masked.
func maskedMain() {
	time.Local = time.UTC // wherever the tests are run
	var out, errOut bytes.Buffer
	code := cli.Main(os.Args[1:], os.Stdin, &out, &errOut)
	_, failed := os.Stdout.Write(masked(out.Bytes()))
	_, failedToo := os.Stderr.Write(masked(errOut.Bytes()))
	if err := errors.Join(failed, failedToo); err != nil {
		panic(err)
	}
	os.Exit(code)
}

// masked puts of-this-book wherever the digest of the built-in book stands: a
// change of the book is no change of what a script expects.
func masked(text []byte) []byte {
	book, err := rules.BuiltIn()
	if err != nil {
		return text
	}
	return bytes.ReplaceAll(text, []byte(book.Digest), []byte("of-this-book"))
}

// mask FILE masks a file that a command wrote.
func mask(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: mask FILE")
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), masked([]byte(ts.ReadFile(args[0]))), 0o644))
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
		Cmds:                map[string]func(*testscript.TestScript, bool, []string){"mask": mask},
		Setup: func(e *testscript.Env) error {
			e.Setenv("CASES", filepath.Join(root, "cases"))
			e.Setenv("MISTAKES", filepath.Join(root, "mistakes"))
			e.Setenv("RIG", filepath.Join(root, "rig"))
			e.Setenv("LC_ALL", "C")
			return nil
		},
	})
}
