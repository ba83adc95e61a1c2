package cli

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine/hear"
)

// A story that is too long is refused whole; of many stories the line of the file
// is told, blank ones counted.
func TestStoriesThatAreRefused(t *testing.T) {
	var out bytes.Buffer
	book := &bookOption{}
	long := strings.Repeat("wiper leaks. ", hear.LongestStory/13+1)
	err := runHear(streams{in: strings.NewReader(long), out: &out}, hearOptions{book: book, action: "triplex-single-acting"})
	require.ErrorContains(t, err, "Tell it in parts")
	assert.Empty(t, out.String())

	err = runHear(streams{in: strings.NewReader("\n\n{\"id\": \"a\"}\n"), out: &out}, hearOptions{book: book, many: true})
	require.Error(t, err)
	assert.Contains(t, out.String(), "line 3: ")

	out.Reset()
	story := strings.Repeat("leaks ", hear.MostWords+1)
	lines := `{"id": 7, "action": "triplex-single-acting", "story": "` + story + `"}
{"id": -1.50, "action": "triplex-single-acting", "story": "wiper leaks"}
{"id": [1], "action": "triplex-single-acting", "story": "wiper leaks"}
`
	require.Error(t, runHear(streams{in: strings.NewReader(lines), out: &out}, hearOptions{book: book, many: true}))
	told := strings.Split(out.String(), "\n")
	assert.Contains(t, told[0], `{"id":"7","error":"line 1: the story has 1501 words; at most 1500 words are heard at once`)
	assert.True(t, strings.HasPrefix(told[1], `{"id":"-1.50","heard":[{`), told[1])
	assert.Contains(t, told[2], "id is an array that does not belong there")

	file := filepath.Join(t.TempDir(), "case.yaml")
	require.NoError(t, os.WriteFile(file, []byte("pump: {action: triplex-single-acting, state: stopped}\n"), 0o600))
	for _, words := range []string{story, strings.ReplaceAll(story, " ", ";")} {
		err = runNote(streams{in: strings.NewReader(""), out: &out, err: &out}, noteOptions{book: book, file: file, words: []string{words}})
		require.ErrorContains(t, err, "the story has 1501 words")
	}
}
