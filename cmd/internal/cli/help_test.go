package cli

import (
	"bufio"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine"
	"telltale/evidence"
	"telltale/evidence/source"
	"telltale/rules"
)

// topic is the text of a topic of help.
func topic(t *testing.T, name string) string {
	t.Helper()
	out, errOut, code := run(t, "help", name)
	require.Zero(t, code, errOut)
	return out
}

// A topic reads in a window of 80 columns but for its tables and examples, and its
// heading is what the list of topics says.
func TestTopicsAreReadInATerminal(t *testing.T) {
	help, _, _ := run(t, "help")
	for _, name := range topicNames {
		text, example := topic(t, name), false
		heading, _, _ := strings.Cut(text, "\n")
		assert.Contains(t, help, "telltale "+name+" ", name)
		assert.Contains(t, help, strings.TrimPrefix(heading, "# "))
		for _, line := range strings.Split(text, "\n") {
			if strings.HasPrefix(line, "```") {
				example = !example
			} else if !example && !strings.HasPrefix(line, "|") {
				assert.LessOrEqual(t, len(line), 80, "%s: %s", name, line)
			}
		}
		assert.False(t, example, "%s: an example has no end", name)
	}
	files, err := topics.ReadDir("help")
	require.NoError(t, err)
	assert.Len(t, files, len(topicNames))
}

// The example of a case in its parts is a case that is read whole, and each work, sign
// and other name in it is the rulebook's.
func TestTheExampleOfACaseIsOne(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	parts := regexp.MustCompile("(?s)```yaml\n(.*?)```").FindAllStringSubmatch(topic(t, "case"), -1)
	require.Len(t, parts, 3)
	text := ""
	for _, part := range parts {
		text += part[1]
	}
	k, err := evidence.ParseCase("case.yaml", []byte(text), book.Vocabulary())
	require.NoError(t, err)
	assert.NotEmpty(t, k.Findings)
	assert.NotEmpty(t, k.Locks)
	assert.NotEmpty(t, k.Measured.RodInOpening)
}

// The topic lists the codes of mistakes as they are.
func TestTheTopicListsTheCodes(t *testing.T) {
	text := topic(t, "json")
	for _, code := range source.Codes() {
		assert.Contains(t, text, "| `"+code.String()+"` | "+code.Meaning()+" |")
	}
}

// keysOf gathers the keys of a JSON value, and of all inside it.
func keysOf(value any, into map[string]bool) {
	switch v := value.(type) {
	case map[string]any:
		for key, inner := range v {
			into[key] = true
			keysOf(inner, into)
		}
	case []any:
		for _, inner := range v {
			keysOf(inner, into)
		}
	}
}

// jsonKeys are the keys of what the commands print of the demo cases as JSON.
func jsonKeys(t *testing.T) []string {
	t.Helper()
	keys := map[string]bool{}
	for _, file := range cases(t) {
		for _, command := range [][]string{{"triage", "--json"}, {"align", "--json"}, {"output", "--json"}, {"teardown", "--json"}, {"triage", "--many"}} {
			out, errOut, code := demo(t, append(slices.Clone(command), file)...)
			require.Zero(t, code, errOut)
			var value any
			require.NoError(t, json.Unmarshal([]byte(out), &value), command)
			keysOf(value, keys)
		}
	}
	return slices.Sorted(maps.Keys(keys))
}

// The number of the JSON is raised with its keys: the golden file holds the number and
// the keys that belong to it.
func TestTheSchemaIsThatOfItsKeys(t *testing.T) {
	golden := filepath.Join(root, "golden", "json-keys.txt")
	page := fmt.Sprintf("schema %d\n%s\n", engine.ReportSchema, strings.Join(jsonKeys(t), "\n"))
	if *update {
		require.NoError(t, os.WriteFile(golden, []byte(page), 0o644))
	}
	file, err := os.Open(golden)
	require.NoError(t, err)
	defer file.Close()
	var lines []string
	for in := bufio.NewScanner(file); in.Scan(); {
		lines = append(lines, in.Text())
	}
	assert.Equal(t, lines, strings.Split(strings.TrimSpace(page), "\n"), "keys came or went: raise ReportSchema in engine/report.go, then -update")
	assert.Contains(t, topic(t, "json"), fmt.Sprintf("`schema` is %d: ", engine.ReportSchema))
}

// Every key that triage prints stands in the topic.
func TestTheTopicHasTheKeysOfTriage(t *testing.T) {
	words := map[string]bool{}
	for _, word := range regexp.MustCompile(`\w+`).FindAllString(topic(t, "json"), -1) {
		words[word] = true
	}
	keys := map[string]bool{}
	for _, file := range cases(t) {
		out, _, code := demo(t, "triage", "--json", file)
		require.Zero(t, code)
		var report map[string]any
		require.NoError(t, json.Unmarshal([]byte(out), &report))
		delete(report, "measured") // its own structure: the comments of its types
		keysOf(report, keys)
	}
	for _, key := range slices.Sorted(maps.Keys(keys)) {
		assert.True(t, words[key], "help json has no %s", key)
	}
}
