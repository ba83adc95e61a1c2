package cli

import (
	"encoding/json"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence/source"
)

// line is what these tests read of a line of triage --many.
type line struct {
	Case   int
	From   string
	ID     string
	Causes []any
	Report map[string]any
	Errors []struct{ Code, File, Text string }
}

func linesOf(t *testing.T, out string) (lines []line) {
	for text := range strings.Lines(out) {
		var l line
		require.NoError(t, json.Unmarshal([]byte(text), &l))
		lines = append(lines, l)
	}
	return lines
}

// Each line names its case by the id that the case has, also where it is bad: lines
// of several processes are told apart by it.
func TestLinesNameTheirCase(t *testing.T) {
	const pump = `"pump": {"action": "triplex-single-acting", "state": "running"}`
	long := strings.Repeat("7", 101)
	file := inFolder(t, t.TempDir(), "many.jsonl", strings.Join([]string{
		`{"id": "rig 7/118", ` + pump + `}`, `{` + pump + `}`, `{"id": 4711, ` + pump + `, "findings": {"knok": "present"}}`, `{"id": "` + long + `", ` + pump + `}`, `{"id": [1], ` + pump + `}`, `{"id": "", ` + pump + `}`, `{"id": "x", "id": "y", ` + pump + `}`,
	}, "\n"))
	for _, all := range [][]string{{}, {"--all"}, {"--json"}} {
		out, told, code := run(t, append([]string{"triage", "--many", file}, all...)...)
		assert.Equal(t, exitBadInput, code, told)
		lines := linesOf(t, out)
		require.Len(t, lines, 7)
		for i, want := range []struct {
			id, text string
		}{
			{"rig 7/118", ""}, {"", ""}, {"4711", "unknown sign"}, {long[:57] + "...", "expected 100 letters at most"}, {"", "the id of a case"}, {"", "the id of a case is empty"}, {"x", `key "id" stands twice`},
		} {
			assert.Equal(t, want.id, lines[i].ID)
			if want.text == "" {
				assert.Empty(t, lines[i].Errors)
				continue
			}
			require.NotEmpty(t, lines[i].Errors)
			assert.Contains(t, lines[i].Errors[0].Text, want.text)
		}
	}
	for _, page := range [][]string{{"--markdown"}, {"--width", "80"}} {
		out, told, code := run(t, append([]string{"triage", "--many", file}, page...)...)
		assert.Equal(t, exitUsage, code)
		assert.Empty(t, out)
		assert.Contains(t, told, "it goes without --markdown and --width")
	}
	_, told, code := run(t, "triage", inFolder(t, t.TempDir(), "one.yaml", "id: 4711\n"+running))
	assert.Zero(t, code, told)
}

// A file that cannot be read has its line; those behind it are read.
func TestAFileThatIsNotThereLeavesNoOtherUnread(t *testing.T) {
	folder := t.TempDir()
	first, last := inFolder(t, folder, "first.yaml", "id: a\n"+running), inFolder(t, folder, "last.yaml", "id: z\n"+running)
	gone, dir := filepath.Join(folder, "gone.yaml"), t.TempDir()
	out, told, code := run(t, "triage", "--many", first, gone, dir, last)
	assert.Equal(t, exitFile, code)
	assert.Contains(t, told, gone)
	assert.Contains(t, told, dir)
	lines := linesOf(t, out)
	require.Len(t, lines, 4)
	for i, want := range []struct{ id, from, code string }{{"a", first + ":1", ""}, {"", gone + ":1", "cannot-read"}, {"", dir + ":1", "cannot-read"}, {"z", last + ":1", ""}} {
		assert.Equal(t, i+1, lines[i].Case)
		assert.Equal(t, want.id, lines[i].ID)
		assert.Equal(t, want.from, lines[i].From)
		if want.code == "" {
			assert.Empty(t, lines[i].Errors)
			continue
		}
		require.Len(t, lines[i].Errors, 1)
		assert.Equal(t, want.code, lines[i].Errors[0].Code)
	}
}

// A name that is longer than paper has room for is refused, in words, whatever it names.
func TestLongNamesAreRefused(t *testing.T) {
	long := strings.Repeat("W", 80_000)
	for name, c := range map[string]struct{ text, want string }{
		"a cylinder": {"pump: {action: triplex-single-acting, state: running, cylinders: [" + long + ", b, c]}\n", "expected 60 letters at most"},
		"a pump":     {"pump: {action: triplex-single-acting, state: running, name: " + long + "}\n", "expected 100 letters at most"},
		"a case":     {"id: " + long + "\n" + running, "expected 100 letters at most"},
	} {
		t.Run(name, func(t *testing.T) {
			out, told, code := run(t, "triage", inFolder(t, t.TempDir(), "case.yaml", c.text))
			assert.Equal(t, exitBadInput, code)
			assert.Empty(t, out)
			assert.Contains(t, told, c.want)
			assert.Less(t, len(told), 2000)
		})
	}
}

// Of a record with a bad case nothing is told that looks like an answer, and no layer
// is written.
func TestARecordWithABadCaseIsNotCounted(t *testing.T) {
	folder := t.TempDir()
	good, bad := inFolder(t, folder, "good.yaml", "pump: {action: triplex-single-acting, state: isolated}\nfindings: {wiper-leaks: {again: [2], absent: others}}\nconfirmed: [rod-clamp-misfitted: 2]\n"), inFolder(t, folder, "bad.yaml", "pump: {action: triplex}\n")
	layer := filepath.Join(folder, "layer")
	for _, files := range [][]string{{good, bad}, {bad}, {bad, good}} {
		out, told, code := run(t, append([]string{"study", "--layer", layer}, files...)...)
		assert.Equal(t, exitBadInput, code)
		assert.Empty(t, out)
		assert.Contains(t, told, bad+":1:7:")
		assert.NoFileExists(t, filepath.Join(layer, "record.yaml"))
	}
	// As JSON all of it is one value, the last line, as it is of every other command.
	worse := inFolder(t, folder, "worse.yaml", strings.Repeat("pump: {action: triplex}\n---\n", 60))
	_, told, code := run(t, "study", "--json", bad, good, worse)
	require.Equal(t, exitBadInput, code)
	var mistaken struct {
		Errors []struct{ File string }
		More   int
	}
	require.NoError(t, json.Unmarshal([]byte(told), &mistaken), "it is one value")
	require.Len(t, mistaken.Errors, source.MostProblems)
	assert.Equal(t, bad, mistaken.Errors[0].File)
	assert.Equal(t, 2*61-source.MostProblems, mistaken.More)

	out, told, code := run(t, "study", good)
	assert.Zero(t, code, told)
	assert.NotEmpty(t, out)
}
