package cli

import (
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestWhichPager(t *testing.T) {
	const unset = "unset"
	for name, c := range map[string]struct {
		system, pager, terminal string
		there                   []string
		want                    []string
	}{
		"less, where it is":             {"linux", unset, "xterm", []string{"less"}, []string{"less"}},
		"no less":                       {"darwin", unset, "xterm", nil, nil},
		"a terminal that can do little": {"linux", unset, "dumb", []string{"less"}, nil},
		"no terminal named":             {"linux", unset, unset, []string{"less"}, nil},
		"the named one":                 {"linux", "most -s", "xterm", []string{"less", "most"}, []string{"most", "-s"}},
		"also on a dumb terminal":       {"linux", "most", "dumb", []string{"most"}, []string{"most"}},
		"a named one that is not there": {"linux", "mots", "xterm", []string{"less", "most"}, nil},
		"cat is none":                   {"linux", "cat", "xterm", []string{"cat", "less"}, nil},
		"an empty one is none":          {"linux", "", "xterm", []string{"less"}, nil},
		"Windows has none":              {"windows", unset, "xterm", []string{"less"}, nil},
		"unless it is named":            {"windows", "less.exe", unset, []string{"less.exe"}, []string{"less.exe"}},
		"a folder with a blank":         {"windows", `C:\Program Files\less.exe`, unset, []string{`C:\Program Files\less.exe`}, []string{`C:\Program Files\less.exe`}},
		"no shell":                      {"linux", "less; rm x", "xterm", []string{"less"}, nil},
	} {
		t.Run(name, func(t *testing.T) {
			env := func(key string) (string, bool) {
				value := map[string]string{"PAGER": c.pager, "TERM": c.terminal}[key]
				return strings.TrimPrefix(value, unset), value != unset
			}
			find := func(program string) (string, error) {
				for _, have := range c.there {
					if have == program {
						return "/bin/" + program, nil
					}
				}
				return "", errors.New("not there")
			}
			assert.Equal(t, c.want, pager(env, c.system, find))
		})
	}
}

// A page that the window holds, with its prompt, goes through no pager.
func TestLongerThanTheWindow(t *testing.T) {
	page := func(lines, letters int) []byte {
		return []byte(strings.Repeat(strings.Repeat("µ", letters)+"\n", lines))
	}
	assert.False(t, longer(page(23, 80), 80, 24))
	assert.True(t, longer(page(24, 80), 80, 24))
	assert.True(t, longer(page(23, 81), 80, 24), "lines that the window folds")
	assert.False(t, longer(page(22, 0), 80, 24))
	assert.False(t, longer(page(100, 80), 0, 0), "a window without a size")
}

func TestWhatLessIsTold(t *testing.T) {
	none := func(string) (string, bool) { return "", false }
	assert.Equal(t, []string{"LESS=FRX", "LESSCHARSET=utf-8"}, lessDefaults(none))
	own := func(key string) (string, bool) { return "", key == "LESS" }
	assert.Equal(t, []string{"LESSCHARSET=utf-8"}, lessDefaults(own))
}
