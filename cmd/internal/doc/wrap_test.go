package doc

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A word without an end is cut as a short one is: nothing of it is lost, and every line
// but the last is full.
func TestAWordWithoutAnEndIsCut(t *testing.T) {
	for name, letter := range map[string]string{
		"one column": "W", "two columns": "\u4e95", "no column": "\u0301", "two bytes": "é", "a letter with its marks": "e\u0301\u0323", "a family": "👩\u200d👩\u200d👧\u200d👦",
	} {
		t.Run(name, func(t *testing.T) {
			word := strings.Repeat(letter, 200_000/len(letter))
			lines := Wrap("so "+word+" end", 40, 30)
			var cut strings.Builder
			for i, line := range lines {
				require.LessOrEqual(t, Width(line), 40)
				if i > 1 && i < len(lines)-2 && Width(letter) > 0 {
					require.Equal(t, 30, Width(line))
				}
				cut.WriteString(strings.ReplaceAll(line, " ", ""))
			}
			assert.Equal(t, "so"+word+"end", cut.String())
		})
	}
}
