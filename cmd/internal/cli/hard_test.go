package cli

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const (
	goodCase = "pump: {action: triplex-single-acting, state: running}\nfindings: {knock: absent}\n"
	goodBook = "rulebook: {name: local, version: '1'}\nworks:\n  mud-changed: {title: Mud changed, basis: judgement}\n"
)

// hardText is a file that is built to break a reader; says is how its refusal
// begins or, with nothing to say, it is a good file that is only odd.
type hardText struct{ text, says string }

// hardTexts makes them of a good file. thousandfold is a key inside of it.
func hardTexts(good, thousandfold string) map[string]hardText {
	bomb := "a: &a [x, x, x, x]\n"
	for i := 'b'; i < 'm'; i++ {
		bomb += fmt.Sprintf("%c: &%c [*%c, *%c, *%c, *%c]\n", i, i, i-1, i-1, i-1, i-1)
	}
	lines := strings.Count(good, "\n")
	return map[string]hardText{
		"mark of order":       {"\xef\xbb\xbf" + good, ""},
		"windows lines":       {strings.ReplaceAll(good, "\n", "\r\n"), ""},
		"NUL bytes":           {good + "\x00\x00\x00", fmt.Sprintf(":%d:1: byte 0x00 is not text", lines+1)},
		"not UTF-8":           {good + "# \xe9\n", fmt.Sprintf(":%d:3: byte 0xe9 is not text", lines+1)},
		"deep":                {"a: " + strings.Repeat("[", 100_000), ":1:"},
		"deep and closed":     {"a: " + strings.Repeat("[", 9_000) + strings.Repeat("]", 9_000), ":1:16: nested more than 12 deep"},
		"deep mapping":        {"a: " + strings.Repeat("{a: ", 10_000), ":1:"},
		"deep by indent":      {"a:\n" + strings.Repeat(" ", 20_000) + "b:\n", ":1:1:"},
		"bomb of aliases":     {bomb, ":1:4: anchor &a is not allowed"},
		"alias of itself":     {"a: &a [*a]\n", ":1:4: anchor &a is not allowed"},
		"keys a thousandfold": {good + strings.Repeat(thousandfold, 5000), fmt.Sprintf(":%d:3: key ", lines+2)},
		"unknown keys":        {good + unknownKeys(8000), fmt.Sprintf(":%d:1: ", lines+1)},
		"one long line":       {good + "x: " + strings.Repeat("x", 200_000), fmt.Sprintf(":%d:1: ", lines+1)},
		"one long key":        {good + strings.Repeat("x", 200_000) + ": 1\n", fmt.Sprintf(":%d:1: ", lines+1)},
		"two documents":       {good + "---\n" + good, fmt.Sprintf(":%d:1: not valid YAML: a second document", lines+1)},
		"too many values":     {good + "x: [" + strings.Repeat("1,", 70_000) + "]\n", "values"},
	}
}

func unknownKeys(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "finding%d: 1\n", i)
	}
	return b.String()
}

// mostMemory is what any of these may take from the system in all, in bytes.
const mostMemory = 400 << 20

// hard runs a command and wants its exit code, its words, bounded memory, and no
// half answer.
func hard(t *testing.T, name string, want int, says string, args ...string) {
	t.Helper()
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	out, errOut, code := run(t, args...)
	runtime.ReadMemStats(&after)
	assert.Equal(t, want, code, "%s: %s", name, clipped(errOut))
	assert.Contains(t, errOut, says, name)
	assert.Less(t, len(errOut), 100_000, "%s: nobody reads that", name)
	assert.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(mostMemory), name)
	if want != exitDone {
		assert.Empty(t, out, "%s: no half answer", name)
	}
}

func clipped(s string) string { return s[:min(len(s), 300)] }

// Files that are built to break a reader: each is answered or refused with a
// clear error, in bounded memory.
func TestHardCases(t *testing.T) {
	dir := t.TempDir()
	for name, c := range hardTexts(goodCase+"measured:\n", "  rod-in-opening: {}\n") {
		path := filepath.Join(dir, strings.ReplaceAll(name, " ", "-")+".yaml")
		require.NoError(t, os.WriteFile(path, []byte(c.text), 0o644))
		t.Run(name, func(t *testing.T) {
			want := exitDone
			if c.says != "" {
				want = exitBadInput
			}
			hard(t, name, want, c.says, "triage", path)
			hard(t, name, want, c.says, "note", path, "state", "stopped")
			after, err := os.ReadFile(path)
			require.NoError(t, err)
			if want == exitBadInput {
				assert.True(t, c.text == string(after), "note wrote into a file with mistakes")
				return
			}
			assert.Equal(t, strings.Replace(c.text, "running", "stopped", 1), string(after), "only what was noted is changed")
		})
	}
}

func TestHardRulebooks(t *testing.T) {
	wiper := filepath.Join(root, "cases/wiper-again.yaml")
	for name, c := range hardTexts(goodBook+"groups:\n", "  a-group: {}\n") {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			require.NoError(t, os.WriteFile(filepath.Join(dir, "a.yaml"), []byte(c.text), 0o644))
			want := exitDone
			if c.says != "" {
				want = exitBadInput
			}
			hard(t, name, want, c.says, "triage", "--rulebook", dir, wiper)
		})
	}
}

// Many files that are each within their bound are no book of any size.
func TestARulebookOfManyFiles(t *testing.T) {
	dir := t.TempDir()
	for file := range 20 {
		filler := strings.Repeat("# nothing but a remark that fills the file\n", 9000)
		require.NoError(t, os.WriteFile(filepath.Join(dir, fmt.Sprintf("%d.yaml", file)), []byte(goodBook+filler), 0o644))
	}
	hard(t, "many files", exitBadInput, "7.4 MiB together; at most 2 MiB are read", "triage", "--rulebook", dir, filepath.Join(root, "cases/wiper-again.yaml"))
}

// Thousands of unknown names beside thousands of known ones: there are too many, which
// is said before a nearest one is searched for.
func TestThousandsOfUnknownNames(t *testing.T) {
	dir := t.TempDir()
	for file := range 4 {
		var b strings.Builder
		if file == 0 {
			b.WriteString(goodBook)
		}
		b.WriteString("signs:\n")
		for i := range 8000 {
			fmt.Fprintf(&b, "  sign%d-%d: {basis: judgement}\n", file, i)
		}
		fmt.Fprintf(&b, "causes:\n  a-cause%d:\n    basis: judgement\n    shows:\n", file)
		for i := range 8000 {
			fmt.Fprintf(&b, "      simptom%d-%d: often\n", file, i)
		}
		require.NoError(t, os.WriteFile(filepath.Join(dir, fmt.Sprintf("%d.yaml", file)), []byte(b.String()), 0o644))
	}
	before := time.Now()
	hard(t, "unknown names", exitBadInput, "entries; at most 300 are read", "triage", "--rulebook", dir, filepath.Join(root, "cases/wiper-again.yaml"))
	assert.Less(t, time.Since(before), time.Minute)
}

// sparse makes a file of zeros, with something before them, that takes no room.
func sparse(t *testing.T, path, begin string, size int64) string {
	t.Helper()
	if runtime.GOOS == "windows" {
		t.Skip("a file of zeros takes its room here")
	}
	f, err := os.Create(path)
	require.NoError(t, err)
	_, err = f.WriteString(begin)
	require.NoError(t, err)
	require.NoError(t, f.Truncate(size))
	require.NoError(t, f.Close())
	return path
}

const gigabyte = 1 << 30

// Files of gigabytes are refused without being read to the end or, where there
// may be more behind them, without being kept.
func TestFilesOfGigabytes(t *testing.T) {
	dir, wiper := t.TempDir(), filepath.Join(root, "cases/wiper-again.yaml")
	huge := sparse(t, filepath.Join(dir, "huge.yaml"), goodCase, 4*gigabyte)
	book, proofs := filepath.Join(dir, "book"), filepath.Join(dir, "proved")
	require.NoError(t, os.Mkdir(book, 0o755))
	require.NoError(t, os.MkdirAll(filepath.Join(proofs, "proofs"), 0o755))
	sparse(t, filepath.Join(book, "a.yaml"), goodBook, 4*gigabyte)
	require.NoError(t, os.WriteFile(filepath.Join(proofs, "a.yaml"), []byte(goodBook), 0o644))
	sparse(t, filepath.Join(proofs, "proofs", "a.yaml"), "facts: {}\n", 4*gigabyte)

	const inCase, inBook = "at most 262144 are read", "at most 524288 are read"
	hard(t, "triage", exitBadInput, inCase, "triage", huge)
	hard(t, "align", exitBadInput, inCase, "align", huge)
	hard(t, "output", exitBadInput, inCase, "output", huge)
	hard(t, "teardown", exitBadInput, inCase, "teardown", huge)
	hard(t, "sheet", exitBadInput, inCase, "sheet", huge)
	hard(t, "note", exitBadInput, inCase, "note", huge, "knock", "absent")
	hard(t, "ask", exitBadInput, inCase, "ask", huge)
	hard(t, "rulebook", exitBadInput, inBook, "triage", "--rulebook", book, wiper)
	hard(t, "vet", exitBadInput, inBook, "rulebook", "vet", book)
	hard(t, "prove", exitBadInput, inBook, "rulebook", "prove", proofs)
}

// longLine is the length of the lines of TestALongLineIsNotKept: with
// TELLTALE_GIGABYTES set more than most machines have memory to spare.
func longLine() int64 {
	if os.Getenv("TELLTALE_GIGABYTES") != "" {
		return 2 * gigabyte
	}
	return gigabyte / 8
}

// In a stream a line of any length is told and passed over without being kept;
// what stands before it is answered.
func TestALongLineIsNotKept(t *testing.T) {
	const good = `{"pump": {"action": "triplex-single-acting", "state": "running"}, "findings": {"knock": "absent"}}` + "\n"
	for name, begin := range map[string]string{
		"JSON Lines": good + `{"pump": `,
		"YAML":       goodCase + "---\npump: ",
	} {
		t.Run(name, func(t *testing.T) {
			path := sparse(t, filepath.Join(t.TempDir(), "many"), begin, longLine())
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			out, errOut, code := run(t, "triage", "--many", path)
			runtime.ReadMemStats(&after)
			assert.Equal(t, exitBadInput, code, errOut)
			assert.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(min(mostMemory, longLine()/4)))
			lines := strings.Split(strings.TrimSuffix(out, "\n"), "\n")
			require.Len(t, lines, 2)
			assert.NotContains(t, lines[0], `"errors"`)
			assert.Contains(t, lines[1], "the document is larger than 262144 bytes")
		})
	}
	me := sparse(t, filepath.Join(t.TempDir(), "me.jsonl"), "{\n", longLine()/2)
	_, errOut, code := run(t, "practice", "--progress", me)
	assert.Zero(t, code, errOut)
	assert.Contains(t, errOut, "me.jsonl:2: this line is damaged and was skipped: it is longer than 65536 bytes")
}

// Hard files as lines of a stream: one line of answer each, and the rest goes on.
func TestHardLines(t *testing.T) {
	good := `{"pump": {"action": "triplex-single-acting", "state": "running"}}`
	hardLines := []string{
		strings.Repeat("[", 100_000), `{"a":` + strings.Repeat("[", 100_000), strings.Repeat(`{"a":`, 40_000), good + good, "{\"pump\": \"\x00\"}", "\xff\xfe",
		`{"pump": &a {x: *a}}`, `{` + strings.Repeat(`"pump": 1, `, 5000) + `}`, `{"pump": "` + strings.Repeat("x", 300_000) + `"}`, `null`, `{}`, `---`, good + "\r", "\ufeff" + good,
	}
	in := good + "\n" + strings.Join(hardLines, "\n"+good+"\n") + "\n" + good + "\n"
	var out, errOut bytes.Buffer
	code := Main([]string{"triage", "--many"}, strings.NewReader(in), &out, &errOut)
	assert.Equal(t, exitBadInput, code)
	lines := strings.Split(strings.TrimSuffix(out.String(), "\n"), "\n")
	require.Len(t, lines, 2*len(hardLines)+1)
	for i, line := range lines {
		var answer struct {
			Case   int
			Errors []struct{ Code, Text string }
		}
		require.NoError(t, json.Unmarshal([]byte(line), &answer))
		assert.Equal(t, i+1, answer.Case)
		if i%2 == 0 {
			assert.Empty(t, answer.Errors, "line %d", i)
		} else if odd := hardLines[i/2]; !strings.Contains(odd, good) || odd == good+good {
			assert.NotEmpty(t, answer.Errors, clipped(odd))
		}
	}
}

// changing is a file that somebody writes to between the looks at it.
type changing struct {
	fs.File
	text  io.Reader
	infos []fs.FileInfo
}

func (c *changing) Read(b []byte) (int, error) { return c.text.Read(b) }

func (c *changing) Stat() (fs.FileInfo, error) {
	info := c.infos[0]
	c.infos = c.infos[1:]
	return info, nil
}

// A file that is written over while it is read is no case: it may be half of
// one and half of another.
func TestAFileWrittenOverWhileItIsRead(t *testing.T) {
	info := func(size int, second int64) fs.FileInfo {
		files := fstest.MapFS{"a": {Data: make([]byte, size), ModTime: time.Unix(second, 0)}}
		i, err := files.Stat("a")
		require.NoError(t, err)
		return i
	}
	for name, c := range map[string]struct {
		before, after fs.FileInfo
		fails         bool
	}{
		"left alone": {info(4, 1), info(4, 1), false}, "longer": {info(4, 1), info(5, 1), true},
		"as long, but later": {info(4, 1), info(4, 2), true},
	} {
		t.Run(name, func(t *testing.T) {
			text, err := readSteady(&changing{text: strings.NewReader("text"), infos: []fs.FileInfo{c.before, c.after}}, "case.yaml")
			if c.fails {
				assert.EqualError(t, err, "case.yaml was changed while it was read; once it is saved, give the command again")
				assert.Empty(t, text)
				return
			}
			require.NoError(t, err)
			assert.Equal(t, "text", string(text))
		})
	}
}

// everyAnswer are command lines that answer on standard output.
func everyAnswer() [][]string {
	file := func(name string) string { return filepath.Join(root, "cases", name) }
	wiper, rod := file("wiper-again.yaml"), file("rod-measured.yaml")
	return [][]string{
		{"triage", wiper}, {"triage", "--full", wiper}, {"triage", "--json", wiper}, {"triage", "--markdown", wiper}, {"triage", "--many", wiper}, {"triage", "--many", "--all", wiper},
		{"align", rod}, {"align", "--json", rod}, {"align", "--html", rod}, {"output", file("tank-short.yaml")}, {"output", "--html", file("tank-short.yaml")},
		{"teardown", wiper}, {"teardown", "--json", wiper}, {"sheet", "-o", "-", wiper}, {"sheet", "--markdown", wiper}, {"hand-over", wiper}, {"rig", filepath.Join(root, "rig"), "--stop", "12 h"}, {"pump", filepath.Join(root, "rig", "pumps", "pump-2.yaml")}, {"sheet", "--blank", "valves", "-o", "-"},
		{"rulebook", "show"}, {"rulebook", "show", "piston-worn"}, {"rulebook", "vet"}, {"rulebook", "prove"}, {"practice", "--seed", "1"}, {"practice", "--quiz", "2"},
		{"practice", "--progress", os.DevNull}, {"study", wiper}, {"ask", "CASE"}, {"note", "CASE", "wiper-leaks", "again", "2"}, {"hear", "--action", "triplex-single-acting"}, {"serve", "--help"}, {"help", "case"}, {"--version"}, {"--help"}, {"triage", "--help"}, {},
	}
}

// toFull runs a command on a case of its own, with standard output full.
func toFull(t *testing.T, args []string, full io.Writer) (code int, errOut string) {
	t.Helper()
	own := filepath.Join(t.TempDir(), "case.yaml")
	require.NoError(t, os.WriteFile(own, []byte(goodCase), 0o644))
	mine := append([]string{}, args...)
	for i := range mine {
		if mine[i] == "CASE" {
			mine[i] = own
		}
	}
	var e bytes.Buffer
	told := ""
	if slices.Contains(args, "hear") {
		told = "wiper on 2 leaks\n"
	}
	code = Main(mine, strings.NewReader(told), full, &e)
	return code, e.String()
}

// A full disk is told and is not success: one that takes a little and then
// nothing, here a writer, and one that takes nothing, which the system has where
// it can.
func TestFullDiskIsNoSuccess(t *testing.T) {
	for _, args := range everyAnswer() {
		t.Run(strings.Join(args, " "), func(t *testing.T) {
			t.Parallel()
			disks := map[string]io.Writer{"a little": &fullDisk{room: 10}, "nothing": nothing(t)}
			switch strings.Join(args, " ") { // each runs every proof of the rulebook: once is enough
			case "rulebook vet":
				delete(disks, "nothing")
			case "rulebook prove":
				delete(disks, "a little")
			}
			for what, full := range disks {
				code, errOut := toFull(t, args, full)
				assert.Equal(t, exitFile, code, "%s: %s", what, errOut)
				assert.Contains(t, errOut, "no space left on device", what)
			}
		})
	}
}

// nothing gives a disk on which there is no room.
func nothing(t *testing.T) io.Writer {
	t.Helper()
	full, err := os.OpenFile("/dev/full", os.O_WRONLY, 0)
	if err != nil {
		return &fullDisk{}
	}
	t.Cleanup(func() { full.Close() })
	return full
}

type fullDisk struct{ room int }

func (d *fullDisk) Write(b []byte) (int, error) {
	if len(b) > d.room {
		n := d.room
		d.room = 0
		return n, fmt.Errorf("no space left on device")
	}
	d.room -= len(b)
	return len(b), nil
}
