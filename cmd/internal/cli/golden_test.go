package cli

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/mattn/go-runewidth"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/rules"
)

var update = flag.Bool("update", false, "rewrite the golden files")

const root = "../../../testdata"

func run(t *testing.T, args ...string) (out, errOut string, code int) {
	t.Helper()
	var o, e bytes.Buffer
	code = Main(args, strings.NewReader(""), &o, &e)
	return o.String(), e.String(), code
}

// asked is a command line with the date that its sheets bear.
type asked struct{ line, epoch string }

var answered sync.Map // asked: answer

type answer struct {
	out, errOut string
	code        int
}

// demo is what a command line that only reads demo cases prints; it is run once
// for all tests.
func demo(t *testing.T, args ...string) (out, errOut string, code int) {
	t.Helper()
	key := asked{strings.Join(args, "\x00"), os.Getenv("SOURCE_DATE_EPOCH")}
	if a, known := answered.Load(key); known {
		return a.(answer).out, a.(answer).errOut, a.(answer).code
	}
	out, errOut, code = run(t, args...)
	answered.Store(key, answer{out, errOut, code})
	return out, errOut, code
}

// demoText is the text of a demo case at a width, of triage all of it.
func demoText(t *testing.T, command, file string, width int) string {
	t.Helper()
	args := []string{command, "--width", strconv.Itoa(width), file}
	if command == "triage" {
		args = append(args, "--all")
	}
	out, errOut, code := demo(t, args...)
	require.Zero(t, code, errOut)
	return out
}

// masked stands in golden files where a page names the digest of the built-in
// book, as long as the digest is: a change of the book is no change of a page.
const masked = "of-this-book"

// sameAsGolden compares a page with its golden file, or writes it (-update).
func sameAsGolden(t *testing.T, golden, page string) {
	t.Helper()
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	page = strings.ReplaceAll(page, book.Digest, masked)
	if *update {
		require.NoError(t, os.WriteFile(golden, []byte(page), 0o644))
	}
	want, err := os.ReadFile(golden)
	require.NoError(t, err)
	assert.Equal(t, string(want), page)
}

func cases(t *testing.T) []string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(root, "cases", "*.yaml"))
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(files), 8)
	return files
}

// demoPages are the commands that read a case, with the cases that have something
// for them.
func demoPages(t *testing.T) map[string][]string {
	t.Helper()
	out := map[string][]string{}
	for _, file := range cases(t) {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		out["triage"] = append(out["triage"], file)
		out["teardown"] = append(out["teardown"], file)
		if bytes.Contains(text, []byte("\nmeasured:")) {
			out["align"] = append(out["align"], file)
		}
		if bytes.Contains(text, []byte("\n  stroke:")) {
			out["output"] = append(out["output"], file)
		}
	}
	return out
}

// Every demo case prints what its golden files hold, at 80 columns.
func TestDemoCasesPrintTheirGoldenText(t *testing.T) {
	for command, files := range demoPages(t) {
		for _, file := range files {
			name := strings.TrimSuffix(filepath.Base(file), ".yaml")
			if command != "triage" {
				name += "." + command
			}
			t.Run(name, func(t *testing.T) {
				printed := map[string][]string{".txt": nil}
				if command == "triage" {
					printed = map[string][]string{".short.txt": nil, ".txt": {"--full"}}
				}
				for ending, flags := range printed {
					out, errOut, code := demo(t, append([]string{command, "--width", "80", file}, flags...)...)
					require.Zero(t, code, errOut)
					sameAsGolden(t, filepath.Join(root, "golden", name+ending), out)
				}
			})
		}
	}
}

// No line is longer than the page, whatever its width, and none holds a
// control character.
func TestTextKeepsToItsWidth(t *testing.T) {
	for command, files := range demoPages(t) {
		for _, file := range files {
			t.Run(command+" "+filepath.Base(file), func(t *testing.T) {
				t.Parallel()
				for _, width := range []int{60, 80, 120, 160} {
					for _, line := range strings.Split(demoText(t, command, file, width), "\n") {
						assert.LessOrEqual(t, runewidth.StringWidth(line), width, "%q", line)
						assert.NotContains(t, line, "\x1b")
					}
				}
			})
		}
	}
}

// The JSON is one structure with at least the documented fields.
func TestJSONHasTheDocumentedFields(t *testing.T) {
	for _, file := range cases(t) {
		out, _, code := run(t, "triage", "--json", file)
		require.Zero(t, code)
		var r map[string]any
		require.NoError(t, json.Unmarshal([]byte(out), &r))
		for _, key := range []string{"rulebook", "pump", "stop", "causes", "groups", "steps", "expected_minutes", "ask"} {
			assert.Contains(t, r, key, file)
			assert.NotNil(t, r[key], "%s: %s", file, key)
		}
		for _, c := range r["causes"].([]any) {
			for _, key := range []string{"cause", "cylinder", "title", "group", "probability", "for", "against"} {
				assert.Contains(t, c, key)
			}
		}
		for _, s := range r["steps"].([]any) {
			for _, key := range []string{"number", "kind", "id", "cylinder", "title", "minutes", "needs", "found_by_here"} {
				assert.Contains(t, s, key)
			}
		}
		for _, q := range r["ask"].([]any) {
			for _, key := range []string{"sign", "cylinder", "question", "bits"} {
				assert.Contains(t, q, key)
			}
		}
	}
}

func TestExitCodes(t *testing.T) {
	huge := filepath.Join(t.TempDir(), "huge.yaml")
	require.NoError(t, os.WriteFile(huge, bytes.Repeat([]byte("# filler\n"), 60_000), 0o644))
	for name, c := range map[string]struct {
		args []string
		want int
	}{
		"an answer":      {[]string{"triage", filepath.Join(root, "cases/two-faults.yaml")}, exitDone},
		"a stop":         {[]string{"triage", filepath.Join(root, "cases/pit-gain.yaml")}, exitDone},
		"mistakes":       {[]string{"triage", filepath.Join(root, "mistakes/many.yaml")}, exitBadInput},
		"too large":      {[]string{"triage", huge}, exitBadInput},
		"empty":          {[]string{"triage", "-"}, exitBadInput},
		"usage":          {[]string{"triage"}, exitUsage},
		"unknown":        {[]string{"diagnos"}, exitUsage},
		"not there":      {[]string{"triage", "no-such-file.yaml"}, exitFile},
		"a folder":       {[]string{"triage", t.TempDir()}, exitFile},
		"help":           {[]string{"--help"}, exitDone},
		"nothing at all": {nil, exitDone},
	} {
		t.Run(name, func(t *testing.T) {
			_, errOut, code := run(t, c.args...)
			assert.Equal(t, c.want, code, errOut)
		})
	}
}

// The page that README shows is what the command prints, whole.
func TestREADMEShowsARealOutput(t *testing.T) {
	const readmeFile, start, end = "../../../README.md", "```text\n", "```\n"
	readme, err := os.ReadFile(readmeFile)
	require.NoError(t, err)
	golden, err := os.ReadFile(filepath.Join(root, "golden/wiper-again.short.txt"))
	require.NoError(t, err)
	before, rest, found := strings.Cut(string(readme), start)
	require.True(t, found)
	block, after, found := strings.Cut(rest, end)
	require.True(t, found)
	if *update {
		block = string(golden)
		require.NoError(t, os.WriteFile(readmeFile, []byte(before+start+block+end+after), 0o644))
	}
	assert.Equal(t, string(golden), block, "README's output is not what the command prints; go test ./cmd/internal/cli -update rewrites it")
}

// Every command stands in README, and among those whose answer must not be lost
// when standard output is full.
func TestEveryCommandIsInREADME(t *testing.T) {
	readme, err := os.ReadFile("../../../README.md")
	require.NoError(t, err)
	answers := map[string]bool{}
	for _, args := range everyAnswer() {
		if len(args) > 0 {
			answers[args[0]] = true
		}
	}
	for _, c := range newRoot(streams{}).Commands() {
		name := c.Name()
		if c.IsAdditionalHelpTopicCommand() {
			name = "help " + name
		} else {
			assert.True(t, answers[name], "everyAnswer has no %s", name)
		}
		assert.True(t, strings.Contains(string(readme), "`telltale "+name), "README's table of commands has no %s", name)
	}
}
