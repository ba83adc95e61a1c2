package site

import (
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What a case holds stands on one page; each leads to its question in the job itself,
// whose answer changes that alone. A form of the job that was open before is not taken.
func TestAnEarlierAnswerIsPutRight(t *testing.T) {
	dir := folderOf(t, map[string]string{"a.yaml": "pump: {action: triplex-single-acting, state: stopped}\nrecent: [mud-changed]\nfindings: {wiper-leaks: {again: [2]}, oil-milky: present}\nmeasured: {rod-face-gap: {2: {resolution: 1 thou, top: 0 thou, bottom: 4 thou}}}\n"})
	s := siteOver(t, dir)
	page := open(t, s, "/job/a")
	at, stale := page.button("Yes, it is still stopped")
	page.post(at, stale)
	page.get("/job/a")
	at, stale = page.button("No; go on with")

	page.get("/job/a/known")
	text := page.text
	for _, holds := range []string{"Wiper or seal of the diaphragm housing leaks (again soon after it was changed): cylinder 2", "Done: Mud changed", "rod-face-gap/2"} {
		assert.Contains(t, text, holds)
	}
	page.post("/job/a/known", url.Values{"name": {"seen wiper-leaks 2"}})
	assert.Contains(t, page.asked(), "Cylinder 2: ")
	page.post(at, stale)
	assert.Equal(t, http.StatusConflict, page.status)
	page.get("/job/a")
	at, no := page.button("No, none of these")
	page.post(at, no)
	now, err := os.ReadFile(filepath.Join(dir, "a.yaml"))
	require.NoError(t, err)
	assert.Contains(t, string(now), "findings: {wiper-leaks: {absent: [2]}, oil-milky: present}")

	page.post("/job/a/known", url.Values{"name": {"seen knock"}})
	assert.Equal(t, http.StatusConflict, page.status)
	assert.True(t, strings.Contains(page.refused(), "does not stand in the case any more"), page.refused())
}
