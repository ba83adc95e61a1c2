package cli

import (
	"encoding/json"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/mattn/go-runewidth"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/pages"
	"telltale/engine/upkeep"
)

// A planned stop of the demo rig: in every form, as text within its columns, and a stop
// that is no time is refused.
func TestAPlannedStop(t *testing.T) {
	demo := filepath.Join(root, "rig")
	plan := func(hours string, more ...string) string {
		out, errOut, code := run(t, append([]string{"rig", demo, "--on", "2026-10-27", "--stop", hours}, more...)...)
		require.Zero(t, code, errOut)
		return out
	}
	for _, hours := range []string{"0.5 h", "12 h"} {
		for _, columns := range []int{60, 160} {
			out := plan(hours, "--width", strconv.Itoa(columns))
			for line := range strings.Lines(out) {
				assert.LessOrEqual(t, runewidth.StringWidth(strings.TrimSuffix(line, "\n")), columns, line)
			}
			said := strings.Join(strings.Fields(out), " ")
			assert.Contains(t, said, "Isolate each pump by the site's procedure before anything is opened on it")
			assert.Contains(t, said, pages.Govern)
		}
		var told upkeep.Stop
		require.NoError(t, json.Unmarshal([]byte(plan(hours, "--json")), &told))
		assert.NotEmpty(t, told.NotNow)
		wellFormed(t, hours, plan(hours, "--html"))
		assert.Contains(t, plan(hours, "--markdown"), "What does not fit")
	}
	for _, bad := range []string{"12", "0 h", "-1 h", "2000 h", "3 in", "soon"} {
		_, errOut, code := run(t, "rig", demo, "--stop="+bad)
		assert.Equal(t, exitUsage, code, bad)
		assert.Contains(t, errOut, "--stop is", bad)
	}
}
