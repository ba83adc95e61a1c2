package site

import (
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// hugeRig is a folder of a rig with so many pumps and jobs on each: copies of the jobs
// of the demonstration rig, on days of their own. One job in fifty is damaged.
func hugeRig(t testing.TB, pumps, jobs int) string {
	t.Helper()
	dir := t.TempDir()
	for _, folder := range []string{"pumps", "jobs"} {
		require.NoError(t, os.Mkdir(filepath.Join(dir, folder), 0o755))
	}
	pump := "pump: {action: triplex-single-acting, name: Pump %d, liner: 6 1/2 in, stroke: 12 in}\nhours:\n  - {date: 2010-01-01, hours: 0 h}\n"
	signs := []string{"wiper-leaks: {again: [2]}", "knock: present", "rod-worn: {2: underside}", "pistons-fail-often: present", "liners-fail-early: {present: somewhere}"}
	for p := range pumps {
		path := filepath.Join(dir, "pumps", fmt.Sprintf("pump-%d.yaml", p+1))
		require.NoError(t, os.WriteFile(path, fmt.Appendf(nil, pump, p+1), 0o600))
		require.NoError(t, os.Chtimes(path, onADay(), onADay().AddDate(-1, 0, 0)))
		for j := range jobs {
			day := time.Date(2010, 1, 2, 0, 0, 0, 0, time.UTC).AddDate(0, 0, 10*j)
			text := fmt.Sprintf("job: {pump: pump-%d, date: %s, hours: %d h, closed: %s}\npump: {state: stopped}\nfindings: {%s}\nchanged: [{part: piston, at: %d}]\n",
				p+1, day.Format("2006-01-02"), 100*(j+1), day.Format("2006-01-02"), signs[j%len(signs)], j%3+1)
			switch {
			case j == jobs-1:
				text = strings.Replace(text, ", closed: "+day.Format("2006-01-02"), "", 1)
			case (p*jobs+j)%50 == 7:
				text = strings.Replace(text, "findings", "fnidings", 1)
			}
			name := fmt.Sprintf("%s-pump-%d-job-%d.yaml", day.Format("2006-01-02"), p+1, j)
			path := filepath.Join(dir, "jobs", name)
			require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
			require.NoError(t, os.Chtimes(path, day, day))
		}
	}
	return dir
}

// The pages of a huge rig: TELLTALE_HUGE=500 makes it 20 pumps with so many jobs each.
func TestAHugeRig(t *testing.T) {
	jobs := 15
	if n, err := strconv.Atoi(os.Getenv("TELLTALE_HUGE")); err == nil {
		jobs = n
	}
	dir := hugeRig(t, 20, jobs)
	s := siteOver(t, dir)
	newest, err := filepath.Glob(filepath.Join(dir, "jobs", fmt.Sprintf("*-pump-3-job-%d.yaml", jobs-1)))
	require.NoError(t, err)
	job := jobAddress(newest[0])
	for _, at := range []string{"/", "/", job, job, job + "/all", "/pump/pump-3", "/stop?hours=12"} {
		begun := time.Now()
		page := open(t, s, at)
		t.Logf("%s: %d ms, %d kB", at, time.Since(begun).Milliseconds(), len(page.text)/1000)
		require.Equal(t, http.StatusOK, page.status, "%s: %s", at, page.refused())
	}
	begun := time.Now()
	page := open(t, s, job).press("yes, it is still stopped")
	require.Empty(t, page.refused())
	t.Logf("an answer: %d ms", time.Since(begun).Milliseconds())
}
