package cli

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
	"telltale/evidence/source"
	"telltale/rules"
)

// told is what is written of mistakes with --json.
type told struct {
	Errors []toldError `json:"errors"`
	More   int         `json:"more"`
}

type toldError struct {
	Code, File     string
	Line, Column   int
	Text           string
	Read, Expected string
	Nearest        []string
	SourceLine     string `json:"source_line"`
	Mark           int
}

// raised writes a case and a local book, if there is one, and gives the mistakes
// that triage tells of them.
func raised(t *testing.T, caseText, book string) (out told, code int) {
	t.Helper()
	dir := t.TempDir()
	args := []string{"triage", "--json", filepath.Join(dir, "case.yaml")}
	require.NoError(t, os.WriteFile(args[2], []byte(caseText), 0o600))
	if book != "" {
		require.NoError(t, os.Mkdir(filepath.Join(dir, "book"), 0o700))
		require.NoError(t, os.WriteFile(filepath.Join(dir, "book", "a.yaml"), []byte(book), 0o600))
		args = append(args, "--rulebook", filepath.Join(dir, "book"))
	}
	stdout, stderr, code := run(t, args...)
	assert.Empty(t, stdout, "nothing that looks like an answer")
	lines := strings.Split(strings.TrimSpace(stderr), "\n")
	require.NoError(t, json.Unmarshal([]byte(lines[len(lines)-1]), &out), stderr)
	require.NotEmpty(t, out.Errors)
	return out, code
}

const running = "pump: {action: triplex-single-acting, state: running}\n"

// everySign is a case of a triplex in which all signs of the built-in book are there that
// leave something to weigh: too much to be weighed exactly. Where the crew leaves the pump
// nothing is weighed.
func everySign(t *testing.T, state evidence.PumpState) string {
	t.Helper()
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	text := fmt.Sprintf("pump: {action: %s, state: %s}\nfindings:\n", evidence.Triplex, state)
	for _, s := range book.Signs.List {
		more := text + "  " + s.ID + ": present\n"
		k, err := evidence.ParseCase("c.yaml", []byte(more), book.Vocabulary())
		if err == nil && !slices.ContainsFunc(book.Stops.List, func(stop *rules.Stop) bool { return stop.LeavePump && stop.When.Holds(k, book) }) {
			text = more
		}
	}
	return text
}

// Each code is told of some mistake that a person can make, in a case or in a
// local rulebook, with the exit code of its kind.
func TestEveryCodeIsRaised(t *testing.T) {
	const head = "rulebook: {name: Own, version: '1'}\n"
	const own = head + "signs:\n  own-seen: {title: Seen, ask: Seen, of: pump, pump: any, background: 0, basis: judgement}\ncauses:\n  own-cause: {title: Own, group: drive, role: root, of: pump, how-common: rare, shows: {own-seen: sometimes}, why: x, repair: x, look-again: x, haste: {wait: planned-stop, because: x, basis: judgement}, basis: judgement}\nchecks:\n  own-look: {title: Look, of: pump, pump: any, minutes: 5, do: Look., finds: {own-cause: almost-surely}, results: [{if: x, then: y}], basis: judgement}\n"
	examples := map[string]struct{ text, book string }{
		"too-large":      {"a: [" + strings.Repeat("1,", 30_000) + "1]", ""},
		"not-text":       {running + "recent: \x1b[31m", ""},
		"not-yaml":       {running + "findings: [1, 2\n", ""},
		"not-plain":      {running + "recent: &x []\n", ""},
		"wrong-form":     {running + "findings: [knock]", ""},
		"missing":        {"pump: {action: triplex-single-acting}", ""},
		"twice":          {running + "recent: []\nrecent: []\n", ""},
		"unknown-key":    {running + "finding: {}", ""},
		"unknown-name":   {running + "findings: {nock: present}", ""},
		"unknown-place":  {running + "findings: {wiper-leaks: {present: [4]}}", ""},
		"wrong-place":    {running + "findings: {knock: {2: present}}", ""},
		"bad-name":       {"pump: {action: triplex-single-acting, state: running, cylinders: [all, b, c]}", ""},
		"not-a-quantity": {"pump: {action: triplex-single-acting, state: running, liner: 6}", ""},
		"wrong-unit":     {"pump: {action: triplex-single-acting, state: running, liner: 6 psi}", ""},
		"out-of-range":   {"pump: {action: triplex-single-acting, state: running, liner: 6 ft}", ""},
		"out-of-order":   {running + "measured: {upper-guide: {2: {resolution: 1 thou, rear: 16 to 15 thou}}}", ""},
		"does-not-fit":   {"pump: {action: duplex-double-acting, state: running, liner: 2 in, piston-rod: 3 in}", ""},
		"needs-other":    {running + "corrected: [piston-worn: 2]", ""},
		"excludes":       {running + "findings: {wiper-leaks: {present: [2], absent: [2]}}", ""},
		"cannot-read":    {running, "-"},
		"bad-condition":  {running, head + "stops:\n  own: {signal: danger, by: at-once, title: T, when: present(, do: [Stop.], basis: judgement}\n"},
		"not-allowed":    {running, head + "limits:\n  relief-setting: {value: 1 psi, basis: judgement}\n"},
		"unsafe":         {running, strings.Replace(own, "pump: any, minutes", "pump: any, after: [own-look], minutes", 1)},
		"impossible":     {running + "findings: {knock: present, own-seen: present}\nruled-out: [own-cause]\n", own},
		"too-wide":       {everySign(t, evidence.Stopped), ""},
	}
	exits := map[string]int{"impossible": exitImpossible, "too-wide": exitTooWide}
	for _, code := range source.Codes() {
		example, there := examples[code.String()]
		require.True(t, there, "%s has no example", code)
		if example.book == "-" { // a link to nothing
			dir := t.TempDir()
			if err := os.Symlink(filepath.Join(dir, "gone"), filepath.Join(dir, "a.yaml")); err != nil {
				t.Logf("no links here: %v", err)
				continue
			}
			_, stderr, exit := run(t, "triage", "--json", "--rulebook", dir, filepath.Join(root, "cases", "wiper-again.yaml"))
			assert.Equal(t, exitBadInput, exit)
			assert.Contains(t, stderr, `"code":"cannot-read"`)
			continue
		}
		out, exit := raised(t, example.text, example.book)
		want := exits[code.String()]
		if want == 0 {
			want = exitBadInput
		}
		assert.Equal(t, want, exit, "%s", code)
		var codes []string
		for _, e := range out.Errors {
			codes = append(codes, e.Code)
			assert.NotEmpty(t, e.Text)
			assert.NotNil(t, e.Nearest, "every list is there")
			if e.Code != "too-wide" {
				assert.True(t, e.Line >= 1 && e.Column >= 1 && (e.Mark >= 1 || e.Code == "too-large"), "%+v", e)
			}
		}
		assert.Contains(t, codes, code.String(), "%+v", out)
		assert.NotEmpty(t, code.Meaning())
	}
	assert.Len(t, examples, len(source.Codes()), "an example of a code that is not there")
}

// What a program is told of a mistake, whole.
func TestAMistakeAsAValue(t *testing.T) {
	out, _ := raised(t, running+"findings:\n  wiper-leak: {present: [2]}\n", "")
	require.Len(t, out.Errors, 1)
	e := out.Errors[0]
	assert.Equal(t, "case.yaml", filepath.Base(e.File))
	e.File = ""
	assert.Equal(t, toldError{
		Code: "unknown-name", Line: 3, Column: 3, Text: `unknown sign "wiper-leak"; did you mean wiper-leaks?`,
		Read: "wiper-leak", Nearest: []string{"wiper-leaks", "wiper-wear", "cover-leaks"}, SourceLine: "  wiper-leak: {present: [2]}", Mark: 3,
	}, e)
	out, _ = raised(t, "pump: {action: triplex-single-acting, state: running, liner: 165 kg}\n", "")
	assert.Equal(t, "165 kg", out.Errors[0].Read)
	assert.Equal(t, "a length of zero or more with its unit (cm, ft, in, m, mm, thou, µm)", out.Errors[0].Expected)
	out, _ = raised(t, running+"findings: [knock]\n", "")
	assert.Equal(t, "a list", out.Errors[0].Read)
	assert.Equal(t, "a mapping (key: value)", out.Errors[0].Expected)
}

// In a stream the places count from its start, also those inside a text.
func TestPlacesInAStream(t *testing.T) {
	file := filepath.Join(t.TempDir(), "many.yaml")
	require.NoError(t, os.WriteFile(file, []byte(running+"---\n"+running+"findings:\n  knock: present\n  knock: absent\n"), 0o600))
	out, _, code := run(t, "triage", "--many", file)
	assert.Equal(t, exitBadInput, code)
	lines := strings.Split(strings.TrimSpace(out), "\n")
	require.Len(t, lines, 2)
	var bad told
	require.NoError(t, json.Unmarshal([]byte(lines[1]), &bad))
	require.Len(t, bad.Errors, 1)
	assert.Equal(t, 6, bad.Errors[0].Line)
	assert.Equal(t, "  knock: absent", bad.Errors[0].SourceLine)
	assert.Equal(t, `key "knock" stands twice; it stands first at line 5`, bad.Errors[0].Text)
}

// Neither the name of a file nor what stands in it gets anything that a terminal
// obeys into what is told of its mistakes.
func TestMistakesHoldNothingThatATerminalObeys(t *testing.T) {
	hidden := func(r rune) bool { return r != '\n' && !unicode.IsGraphic(r) }
	name := filepath.Join(t.TempDir(), "a\x1b[31m\u009b\u202eb.yaml")
	if err := os.WriteFile(name, []byte("pump: {action: triplex-single-acting, cylinders: [\"a\u202eb\", \"c\u061cd\", e\u2066f]}\nfindings: {knock: \"x\u202ey\", wiper-leaks: {again: z\u202e}}\n"), 0o600); err != nil {
		t.Skip("no such name can be given here")
	}
	for _, args := range [][]string{{"triage", name}, {"triage", "--json", name}, {"triage", "--many", name}, {"triage", name + "x"}, {"study", name}, {"sheet", "--rulebook", name, name}} {
		out, told, code := run(t, args...)
		assert.NotZero(t, code, args)
		assert.False(t, strings.ContainsFunc(out+told, hidden), "%q: %q", args, out+told)
	}
}

// A line end in a name or a word begins no line of what is told: nobody can forge a
// mistake of another file, or a word of telltale's own.
func TestNobodyForgesALine(t *testing.T) {
	const forged = "telltale: all is well"
	folder := t.TempDir()
	odd := filepath.Join(folder, "odd\n"+forged+".yaml")
	if err := os.WriteFile(odd, []byte("x: ["), 0o600); err != nil {
		t.Skip("no such name can be given here")
	}
	inNames := inFolder(t, folder, "case.yaml", "pump: {action: triplex-single-acting, state: running, cylinders: [\"a\\n"+forged+"\", \"b\\u2028"+forged+"\", \"c\\r"+forged+"\"]}\nfindings: {wiper-leaks: {again: [\"9\\n"+forged+"\"]}, \"kno\\n"+forged+"\": present}\n")
	tagged := inFolder(t, folder, "tagged.yaml", "pump: {action: triplex-single-acting, state: running}\nfindings: !<tag:%0atelltale:%20all%20is%20well> {knock: present}\n")
	book := filepath.Join(folder, "book")
	require.NoError(t, os.Mkdir(book, 0o700))
	inFolder(t, book, "a\n"+forged+".yaml", "signs: [")
	good := inFolder(t, folder, "good.yaml", running)
	for _, args := range [][]string{
		{"triage", inNames}, {"triage", tagged}, {"study", inNames}, {"note", inNames, "knock", "present"}, {"triage", odd}, {"triage", odd + "x"}, {"study", odd}, {"sheet", odd},
		{"triage", "--rulebook", book, good}, {"rulebook", "vet", book}, {"triage", "--" + forged + "\n" + forged}, {"triage\n" + forged}, {"triage", good, "x\n" + forged}, {"rulebook", "show", "x\n" + forged},
	} {
		out, told, code := run(t, args...)
		assert.NotZero(t, code, args)
		for line := range strings.Lines(out + told) {
			assert.False(t, strings.HasPrefix(line, forged), "%q: %q", args, out+told)
		}
	}
}

// inFolder puts a file into a folder.
func inFolder(t *testing.T, folder, name, text string) string {
	t.Helper()
	path := filepath.Join(folder, name)
	require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	return path
}

// What is not seen may be anything: none of it comes out of a name, and what comes
// out is UTF-8, however a name begins.
func TestNamesComeOutAsText(t *testing.T) {
	file := inFolder(t, t.TempDir(), "case.yaml", "pump: {action: triplex-single-acting, state: running, name: \"P\\u202e\\u200b\\u2066\\U000E0041\\u00ad2\", cylinders: [élan, über, \u00db31m]}\nfindings: {wiper-leaks: {again: [über], absent: others}, oil-on-rod: {unknown: [élan]}}\n")
	for _, args := range [][]string{{"triage", file}, {"triage", "--full", file}, {"triage", "--markdown", file}, {"triage", "--json", file}, {"triage", "--many", file}, {"sheet", file, "-o", file + ".html"}, {"sheet", "--markdown", file}, {"note", file, "rod-wobbles", "unknown"}} {
		out, told, code := run(t, args...)
		assert.Zero(t, code, "%q %s", args, told)
		assert.True(t, utf8.ValidString(out+told), args)
		assert.False(t, strings.ContainsFunc(out+told, func(r rune) bool { return r != '\n' && !unicode.IsGraphic(r) }), "%q", args)
	}
	page, err := os.ReadFile(file + ".html")
	require.NoError(t, err)
	assert.True(t, utf8.Valid(page))
	assert.False(t, strings.ContainsFunc(string(page), func(r rune) bool { return r != '\n' && !unicode.IsGraphic(r) }))
	asked := talked(file)
	assert.True(t, utf8.ValidString(asked))
	assert.NotContains(t, asked, "\u009b")
	assert.NotContains(t, asked, "?lan")
}
