package dialogue

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// failed is a failure that was proved, of which nobody looked for the root.
const failed = `pump: {name: Larkspur pump 2, action: triplex-single-acting, state: isolated, open: [piston-out: 2]}
recent: [piston-changed]
findings:
  pistons-fail-often: {one-sided: [2], absent: [1, 3]}
  mud-in-wash: {present: [2]}
confirmed: [piston-worn: 2]
`

// What brought a proved failure on is told and looked for first; put off, the repair
// asks again, and back writes nothing. The crew's yes stands in the case, and is gone
// once the repair was not right.
func TestTheRootBeforeTheRepair(t *testing.T) {
	c := newCrew(t, failed)
	answered := map[string]int{}
	before := ""
	c.answer = func(screen string) (string, bool) {
		flat := strings.Join(strings.Fields(screen), " ")
		has := func(text string) bool {
			if !strings.Contains(flat, text) {
				return false
			}
			answered[text]++
			return true
		}
		switch {
		case has("no more questions; go on with the steps"):
			assert.Contains(t, c.all.String(), "What failed: Piston rubber worn out, cylinder 2 (proved).")
			return "s", true
		case has("One look tells most"):
			return "2", true
		case has("is put right, but nobody has looked"):
			if answered["is put right, but nobody has looked"] == 1 {
				before = c.file()
				return "b", true
			}
			assert.Equal(t, before, c.file(), "back wrote nothing")
			return "2", true
		case has("LOOK AGAIN"):
			assert.Contains(t, c.file(), "root-left:")
			return "2", true
		case has("Only behind the isolation.") && answered["LOOK AGAIN"] > 0:
			return "", false
		}
		return "1", true
	}
	require.NoError(t, c.sit(80, 0))
	for _, asked := range []string{"no more questions; go on with the steps", "One look tells most", "LOOK AGAIN"} {
		assert.Equal(t, 1, answered[asked], asked)
	}
	assert.Equal(t, 2, answered["is put right, but nobody has looked"])
	assert.NotContains(t, c.file(), "root-left:", "it came back")
	assert.NotContains(t, c.file(), "corrected:\n")
}
