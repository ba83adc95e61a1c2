package cli

import (
	"bytes"
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
	require.ErrorContains(t, err, "no part of one is heard")
	assert.Empty(t, out.String())

	err = runHear(streams{in: strings.NewReader("\n\n{\"id\": \"a\"}\n"), out: &out}, hearOptions{book: book, many: true})
	require.Error(t, err)
	assert.Contains(t, out.String(), "line 3: ")
}
