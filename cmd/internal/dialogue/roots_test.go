package dialogue

import (
	"fmt"
	"regexp"
	"slices"
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
		case has("no more questions"):
			assert.Contains(t, c.all.String(), "What failed: Piston rubber worn out, cylinder 2 (proved).")
			return "no more questions", true
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
	for _, asked := range []string{"no more questions", "One look tells most", "LOOK AGAIN"} {
		assert.Equal(t, 1, answered[asked], asked)
	}
	assert.Equal(t, 2, answered["is put right, but nobody has looked"])
	assert.NotContains(t, c.file(), "root-left:", "it came back")
	assert.NotContains(t, c.file(), "corrected:\n")
}

// fromFailureToRoot answers a talk that begins with a proved failure, as somebody who
// finds one root wherever a look can find it, or who looks for none.
func fromFailureToRoot(c *crew, root, title string) func(screen string) (string, bool) {
	number := func(flat, of string) string {
		if m := regexp.MustCompile(`(\w+) ` + of).FindStringSubmatch(flat); m != nil {
			return m[1]
		}
		return "1"
	}
	return func(screen string) (string, bool) {
		flat := strings.Join(strings.Fields(screen), " ")
		switch {
		case strings.Contains(flat, "DONE Found, corrected"):
			return "", false
		case strings.Contains(flat, "no more questions"):
			return "no more questions", true
		case strings.Contains(flat, "One look tells most") && root == "":
			return "2", true
		case strings.Contains(flat, "is put right, but nobody has looked"):
			return number(flat, "leave it; the crew says yes"), true
		case strings.Contains(flat, "Does that prove one of these?"):
			return number(flat, "proved: "+title), true
		case strings.Contains(flat, "Was one of these seen?"):
			return "d", true
		case strings.Contains(flat, "What came out?"):
			for _, check := range c.book.Checks.List {
				if strings.Contains(flat, ") "+check.Title) {
					for i, result := range check.Results {
						if slices.Contains(result.PointsTo, root) {
							return fmt.Sprint(i + 1), true
						}
					}
				}
			}
			return number(flat, "nothing wrong found"), true
		}
		return "1", true
	}
}

// From a proved failure to its root, which is proved, and back to service with both
// put right: the case is closed. Looked for by nobody, it is closed with the crew's yes.
func TestFromTheFailureToItsRoot(t *testing.T) {
	c := newCrew(t, strings.Replace(failed, "confirmed:", "measured:\n  upper-guide: {2: {resolution: 1 thou, rear: 40 thou, middle: 41 thou, front: 40 thou}}\nconfirmed:", 1))
	c.answer = fromFailureToRoot(c, "guide-and-crosshead-worn", "Crosshead and lower guide worn")
	require.NoError(t, c.sit(80, 0))
	assert.Contains(t, c.all.String(), "What failed: Piston rubber worn out, cylinder 2 (proved).")
	assert.Contains(t, c.all.String(), "Found, corrected, looked at again and closed up.")
	for _, list := range []string{"corrected", "looked-again"} {
		assert.Regexp(t, `(?m)^`+list+`:(\n  - [^\n]*)*\n  - guide-and-crosshead-worn: 2`, c.file())
		assert.Regexp(t, `(?m)^`+list+`:(\n  - [^\n]*)*\n  - piston-worn: 2`, c.file())
	}

	c = newCrew(t, failed)
	c.answer = fromFailureToRoot(c, "", "none")
	require.NoError(t, c.sit(80, 0))
	assert.Contains(t, c.all.String(), "Left unlooked at by the crew: ")
	assert.Contains(t, c.file(), "left unlooked at, behind Piston rubber worn out, cylinder 2: ")
	assert.Contains(t, c.file(), "root-left:\n  - piston-worn: 2")
	assert.Contains(t, c.file(), "state: running")
}
