package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"io/fs"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A sign with kinds, invented for the test, and how often two of the commonest
// causes show it.
const newSign = `
  wash-smells-burnt:
    title: Liner wash smells of burnt rubber
    ask: Does the liner wash smell of burnt rubber?
    of: cylinder
    pump: running
    kinds: {faint: faintly, strong: strongly}
    basis: judgement
`

var newLinks = map[string]string{
	"piston-worn":    "      wash-smells-burnt: {faint: sometimes, strong: rarely}\n",
	"liner-oversize": "      wash-smells-burnt: {faint: rarely}\n",
}

// pageTests compare whole pages: they fail where the new sign changed an answer,
// and -update writes their files anew.
var pageTests = []string{"TestDemoCasesPrintTheirGoldenText", "TestSheetsAreTheirGoldenFiles", "TestREADMEShowsARealOutput", "TestScripts"}

// A change of the rulebook is a change of the rulebook: a copy of the repository
// gets a sign with kinds, linked from two causes, and all its tests are run.
// What fails may only be a page on which the answer changed, and once such
// pages are written anew nothing fails. It runs all tests once more, so only when
// asked to: TELLTALE_NEWSIGN=1 go test -timeout 1h -v -run TestNewSign ./cmd/telltale
func TestNewSignTouchesNoTestOfMachinery(t *testing.T) {
	if os.Getenv("TELLTALE_NEWSIGN") == "" {
		t.Skip("runs all tests on a copy of the repository, with TELLTALE_NEWSIGN=1")
	}
	root, err := filepath.Abs("../..")
	require.NoError(t, err)
	was, copied := t.TempDir(), t.TempDir()
	copyRepository(t, root, was)
	copyRepository(t, was, copied)
	addSign(t, filepath.Join(copied, "rules", "book"))

	for _, failed := range goTest(t, copied, "./...") {
		pkg, name, _ := strings.Cut(failed, " ")
		top, _, _ := strings.Cut(name, "/")
		if slices.Contains(pageTests, top) {
			t.Logf("fails with the new sign: %s", failed)
		} else if len(goTest(t, was, pkg, "-run", "^"+top+"$")) > 0 {
			t.Logf("fails without the new sign too: %s", failed)
		} else {
			t.Errorf("fails with the new sign, and is no page on which an answer changed: %s", failed)
		}
	}
	pages := func(args ...string) []string {
		return goTest(t, copied, append([]string{"./cmd/telltale", "./cmd/internal/cli", "-run", strings.Join(pageTests, "|")}, args...)...)
	}
	pages("-update")
	pages("-update") // README shows a page
	for file, lines := range changedFiles(t, was, copied) {
		t.Logf("written anew: %s, %d lines", file, lines)
	}
	assert.Empty(t, pages(), "still failing once the pages are written anew")
}

func copyRepository(t *testing.T, from, to string) {
	t.Helper()
	require.NoError(t, filepath.WalkDir(from, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name, err := filepath.Rel(from, path)
		if err != nil {
			return err
		}
		switch {
		case d.Name() == ".git" && d.IsDir():
			return filepath.SkipDir
		case d.IsDir():
			return os.MkdirAll(filepath.Join(to, name), 0o755)
		case !d.Type().IsRegular():
			return nil
		}
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		return os.WriteFile(filepath.Join(to, name), text, 0o644)
	}))
}

// addSign puts the new sign behind those of a running pump, and its links into
// the causes that show it.
func addSign(t *testing.T, book string) {
	t.Helper()
	left := maps.Clone(newLinks)
	files, err := filepath.Glob(filepath.Join(book, "*.yaml"))
	require.NoError(t, err)
	for _, file := range files {
		read, err := os.ReadFile(file)
		require.NoError(t, err)
		text := string(read)
		if filepath.Base(file) == "signs-running.yaml" {
			text = strings.TrimRight(text, "\n") + newSign
		}
		for cause, link := range newLinks {
			before, entry, found := strings.Cut(text, "\n  "+cause+":\n")
			if !found {
				continue
			}
			head, shows, found := strings.Cut(entry, "    shows:\n")
			require.True(t, found, cause)
			text = before + "\n  " + cause + ":\n" + head + "    shows:\n" + link + shows
			delete(left, cause)
		}
		require.NoError(t, os.WriteFile(file, []byte(text), 0o644))
	}
	require.Empty(t, left, "no such causes")
}

// goTest runs tests in a folder and gives those that failed, as "package test".
func goTest(t *testing.T, dir string, args ...string) []string {
	t.Helper()
	cmd := exec.Command("go", append([]string{"test", "-json", "-timeout", "30m"}, args...)...)
	cmd.Dir = dir
	cmd.Env = append(os.Environ(), "TELLTALE_NEWSIGN=")
	out, runErr := cmd.Output()
	failed := map[string]bool{}
	lines := bufio.NewScanner(bytes.NewReader(out))
	lines.Buffer(nil, 16<<20)
	for lines.Scan() {
		var event struct{ Action, Package, Test string }
		if json.Unmarshal(lines.Bytes(), &event) == nil && event.Action == "fail" {
			failed[strings.TrimSpace(event.Package+" "+event.Test)] = true
		}
	}
	require.NoError(t, lines.Err())
	var names []string
	for name := range failed {
		if !slices.ContainsFunc(slices.Collect(maps.Keys(failed)), func(other string) bool { // a test stands for what it is part of
			return strings.HasPrefix(other, name+" ") || strings.HasPrefix(other, name+"/")
		}) {
			names = append(names, name)
		}
	}
	require.Equal(t, runErr != nil, len(names) > 0, "%v: %v", args, runErr)
	slices.Sort(names)
	return names
}

// changedFiles gives the files outside the book that differ between two copies
// of the repository, with how many lines of the second one the first has not.
func changedFiles(t *testing.T, was, is string) map[string]int {
	t.Helper()
	out := map[string]int{}
	require.NoError(t, filepath.WalkDir(is, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		name, err := filepath.Rel(is, path)
		if err != nil || strings.HasPrefix(name, filepath.Join("rules", "book")+string(filepath.Separator)) {
			return err
		}
		after, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		before, _ := os.ReadFile(filepath.Join(was, name)) // a new file: all its lines are new
		known := map[string]bool{}
		for line := range strings.Lines(string(before)) {
			known[line] = true
		}
		for line := range strings.Lines(string(after)) {
			if !known[line] {
				out[filepath.ToSlash(name)]++
			}
		}
		return nil
	}))
	return out
}
