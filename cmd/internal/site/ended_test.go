package site

import (
	"fmt"
	"math/rand/v2"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const untold = "pump: {action: triplex-single-acting, state: stopped}\n"

// A talk that is over says why, at each load, and begins again over the file as it is.
func TestATalkThatIsOverBeginsAgain(t *testing.T) {
	for what, c := range map[string]struct {
		file    string
		presses []string
		says    []string
		begins  string
	}{
		"nothing was noticed": {untold, []string{"yes, it is still stopped", "list to pick from", "nothing"},
			[]string{"Without one sign there is nothing to reason from.", "This talk is over."}, "still stand so"},
		"the job is closed": {"pump: {action: triplex-single-acting, state: stopped, name: Pump 2}\njob: {pump: pump-2, date: 2026-10-19, closed: 2026-10-20}\n", []string{"leave it closed"},
			[]string{"Closed 2026-10-20: nothing was proved."}, "what now"},
	} {
		t.Run(what, func(t *testing.T) {
			dir := folderOf(t, map[string]string{"jobs/a.yaml": c.file, "pumps/pump-2.yaml": "pump: {action: triplex-single-acting, name: Pump 2}\n"})
			b := open(t, siteOver(t, dir), "/job/a?by=J.+Reed")
			for _, title := range c.presses {
				b.press(title)
				require.Empty(t, b.refused())
			}
			for range 2 {
				for _, says := range c.says {
					assert.Contains(t, said(b.page), says)
				}
				b.get(b.at)
			}
			again, sends := b.button("begin again")
			for range 2 { // a second press is no second talk
				assert.Contains(t, strings.ToLower(said(b.post(again, sends).page)), c.begins)
				assert.Equal(t, "/job/a?by=J.+Reed", b.at)
			}
			b.press(c.presses[0])
			require.Empty(t, b.refused())
			asked := b.asked()
			b.post(again, sends)
			assert.Equal(t, asked, b.asked(), "a page of before ends no talk")
		})
	}
}

// Once somebody tells of a sign elsewhere, there is something to reason from.
func TestATalkThatIsOverHearsOfAChange(t *testing.T) {
	dir := folderOf(t, map[string]string{"a.yaml": untold})
	b := open(t, siteOver(t, dir), "/job/a").press("yes, it is still stopped").press("list to pick from").press("nothing")
	require.Contains(t, said(b.page), "This talk is over.")
	require.NoError(t, os.WriteFile(filepath.Join(dir, "a.yaml"), []byte(untold+"findings: {knock: present}\n"), 0o600))
	b.get(b.at)
	assert.Contains(t, said(b.page), "findings")
	assert.NotContains(t, said(b.page), "This talk is over.")
	assert.True(t, b.offers("yes"))
}

// goesOn wants a page from which one can go on: a question with a button, or a plain
// sentence with a way.
func (b *window) goesOn(after string) {
	b.t.Helper()
	ways := len(all(b.page, "button"))
	if b.asked() == "" {
		require.NotEmpty(b.t, b.refused(), "%s: %s", after, said(b.page))
		for _, a := range all(b.page, "a") {
			if attr(a, "class") == "button" {
				ways++
			}
		}
	}
	require.Positive(b.t, ways, "%s: %s", after, said(b.page))
}

// Whatever is answered, and whoever writes into the file meanwhile, or breaks it: each
// page leads on.
func TestEveryPageLeadsOn(t *testing.T) {
	stories := []string{"The wiper of cylinder 2 leaks.", "nothing", "It knocks once in each turn.", "don't know", "?"}
	for n, start := range []string{untold, untold, wiper, wiper + "confirmed: [piston-worn: 2]\n"} {
		t.Run(fmt.Sprint(n), func(t *testing.T) {
			draw := rand.New(rand.NewPCG(uint64(n), 16))
			dir := folderOf(t, map[string]string{"a.yaml": start})
			path := filepath.Join(dir, "a.yaml")
			b := open(t, siteOver(t, dir), "/job/a")
			for range 20 {
				b.goesOn(b.at)
				whole := read(t, path)
				switch draw.IntN(12) {
				case 0:
					require.NoError(t, os.WriteFile(path, []byte("# By hand.\n"+whole), 0o600))
				case 1:
					require.NoError(t, os.WriteFile(path, []byte(whole+"nonsense\n"), 0o600))
				}
				at, sends := b.anyAnswer(draw)
				if fields := all(b.page, "textarea"); len(fields) > 0 && draw.IntN(4) == 0 {
					at, sends = b.typing(stories[draw.IntN(len(stories))])
				}
				b.post(at, sends).goesOn(sends.Encode())
				if strings.HasSuffix(read(t, path), "nonsense\n") {
					b.get("/job/a").goesOn("a file with a mistake")
					require.NoError(t, os.WriteFile(path, []byte(whole), 0o600))
				}
				b.get("/job/a").goesOn(sends.Encode())
				require.Equal(t, http.StatusOK, b.status)
			}
		})
	}
}
