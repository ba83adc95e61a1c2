package doc

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"
	"unicode"

	"github.com/mattn/go-runewidth"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestMarkStandsUnderThePlace(t *testing.T) {
	long := strings.Repeat("a", 100) + "X" + strings.Repeat("b", 100)
	for name, c := range map[string]struct {
		line string
		mark int
		want string
	}{
		"plain":             {"state: runing", 8, "    state: runing\n           ^"},
		"at the start":      {"pump", 1, "    pump\n    ^"},
		"behind the end":    {"a: ", 4, "    a: \n       ^"},
		"far behind":        {"a", 99, "    a\n     ^"},
		"tab":               {"\tliner: x", 2, "     liner: x\n     ^"},
		"wide":              {"日本: x", 5, "    日本: x\n          ^"},
		"no width":          {"e\u0301: x", 5, "    e\u0301: x\n       ^"},
		"escape":            {"a\x1b[31mb", 7, "    a?[31mb\n          ^"},
		"turned around":     {"a\u202eb", 3, "    a?b\n      ^"},
		"no text":           {"a\xffb", 2, "    a?b\n     ^"},
		"cut on both sides": {long, 101, "    ..." + strings.Repeat("a", 33) + "X" + strings.Repeat("b", 15) + "...\n" + strings.Repeat(" ", 40) + "^"},
		"no line":           {"a", 0, ""},
	} {
		t.Run(name, func(t *testing.T) {
			assert.Equal(t, c.want, Marked(c.line, c.mark, 60), name)
		})
	}
}

func TestMarkedFitsAndPointsAtItsCharacter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		line := rapid.StringOf(rapid.OneOf(rapid.Rune(), rapid.SampledFrom([]rune("ab \t\x1b\u202e日本\u0301\u200b")))).Draw(t, "line")
		line = strings.NewReplacer("\n", "", "\r", "").Replace(line)
		runes := []rune(line)
		mark := rapid.IntRange(1, len(runes)+1).Draw(t, "mark")
		width := rapid.IntRange(20, 80).Draw(t, "width")
		lines := strings.Split(Marked(line, mark, width), "\n")
		require.Len(t, lines, 2)
		for _, l := range lines {
			require.LessOrEqual(t, runewidth.StringWidth(l), width)
			require.NotContains(t, l, "\x1b")
		}
		if mark > len(runes) || runes[mark-1] == unicode.ReplacementChar || !unicode.IsPrint(runes[mark-1]) || runewidth.RuneWidth(runes[mark-1]) == 0 {
			return
		}
		at, seen := strings.Index(lines[1], "^"), 0
		for _, r := range lines[0] {
			if seen == at && r == runes[mark-1] {
				return
			}
			seen += runewidth.RuneWidth(r)
		}
		t.Fatalf("no %q over the mark in %q", runes[mark-1], lines)
	})
}

func TestNothingThatATerminalObeysIsShown(t *testing.T) {
	text := "a\x1b[31m\tb\u009bc\u202ed\u061ce\u200bf\ufeff\nm² 漢\U0001f468 \u00a0\x7f\r"
	assert.Equal(t, "a?[31m b?c?d?e?f?\nm² 漢\U0001f468 \u00a0??", Shown(text))
	line, err := json.Marshal(text + "\U000e0041")
	require.NoError(t, err)
	escaped := EscapeJSON(line)
	assert.False(t, bytes.ContainsFunc(escaped, func(r rune) bool { return !unicode.IsGraphic(r) }), "%s", escaped)
	var back string
	require.NoError(t, json.Unmarshal(escaped, &back))
	assert.Equal(t, text+"\U000e0041", back)
}
