package site

import (
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const pumpTwo = "pump: {action: triplex-single-acting, name: Pump two}\n"

const onPumpTwo = "job: {pump: pump-2, date: 2026-10-19, hours: 1000 h}\npump: {state: running}\nfindings: {wiper-leaks: {again: [2]}}\n"

// elsewhere is a folder that nothing may be read from, nor written to.
func elsewhere(t *testing.T) string {
	return folderOf(t, map[string]string{"case.yaml": strings.Replace(wiper, "Pump 2", "Secret pump", 1), "jobs/case.yaml": onPumpTwo, "pumps/pump-2.yaml": pumpTwo})
}

// all that is in a folder, by the names.
func holding(t *testing.T, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	require.NoError(t, filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if err == nil && d.Type().IsRegular() {
			out[strings.TrimPrefix(path, dir)] = read(t, path)
		}
		return err
	}))
	return out
}

func TestNoNameLeadsOutOfTheFolder(t *testing.T) {
	out := elsewhere(t)
	dir := folderOf(t, map[string]string{"wiper.yaml": wiper, ".hidden.yaml": wiper, "sub/case.yaml": wiper})
	before := holding(t, out)
	s := siteOver(t, dir)
	up, err := filepath.Rel(dir, filepath.Join(out, "case"))
	require.NoError(t, err)
	for _, name := range []string{
		"..", ".", ".hidden", "../wiper", up, filepath.Join(out, "case"), "sub/case", `..\wiper`, `sub\case`, "C:case", "wiper\x00", "\x00", "wiper/", "/wiper", "//wiper",
		"wiper.yaml", "WIPER\u202e", "\xff\xfe", strings.Repeat("a", 300), strings.Repeat("../", 40) + "etc/passwd", strings.Repeat("long-", 3000),
	} {
		escaped := strings.ReplaceAll(url.PathEscape(name), ".", "%2E")
		for _, at := range []string{"/job/" + escaped, "/job/" + escaped + "/all", "/job/" + escaped + "/readings/clearance/1", "/pump/" + escaped, "/rulebook/" + escaped, "/new/" + escaped, "/practice/" + escaped} {
			b := open(t, s, at)
			assert.GreaterOrEqual(t, b.status, 400, at)
			assert.NotContains(t, b.text, "Secret")
			assert.NotContains(t, b.text, "root:")
			b.post(at, url.Values{fieldAlone: {"yes"}, fieldText: {"x"}})
			assert.GreaterOrEqual(t, b.status, 400, at)
		}
	}
	assert.Equal(t, before, holding(t, out))
}

func TestNoLinkLeadsOutOfTheFolder(t *testing.T) {
	link := func(t *testing.T, to, at string) {
		t.Helper()
		if err := os.Symlink(to, at); err != nil {
			t.Skip("no links here: ", err)
		}
	}
	t.Run("a case", func(t *testing.T) {
		out := elsewhere(t)
		dir := folderOf(t, map[string]string{"wiper.yaml": wiper})
		before := holding(t, out)
		link(t, filepath.Join(out, "case.yaml"), filepath.Join(dir, "case.yaml"))
		link(t, "wiper.yaml", filepath.Join(dir, "same.yaml"))
		s := siteOver(t, dir)
		b := open(t, s, "/")
		assert.NotContains(t, b.text, "Secret pump")
		_, sends := b.button("a new one")
		sends.Set(fieldAlone, "case.yaml")
		b.post("/new", sends)
		assert.Equal(t, http.StatusUnprocessableEntity, b.status)
		for _, of := range []string{"", "/all", "/sheet", "/readings"} {
			assert.Equal(t, http.StatusNotFound, b.get("/job/case"+of).status, of)
		}
		b.get("/job/same").press("no, it is stopped")
		assert.Contains(t, read(t, filepath.Join(dir, "wiper.yaml")), "stopped", "one that stays inside is followed")
		info, err := os.Lstat(filepath.Join(dir, "same.yaml"))
		require.NoError(t, err)
		assert.NotZero(t, info.Mode()&os.ModeSymlink)
		assert.Equal(t, before, holding(t, out))
	})
	t.Run("a case that becomes one while it is talked over", func(t *testing.T) {
		out := elsewhere(t)
		dir := folderOf(t, map[string]string{"wiper.yaml": wiper})
		before := holding(t, out)
		b := lately(t, siteOver(t, dir), "wiper")
		require.NoError(t, os.Remove(filepath.Join(dir, "wiper.yaml")))
		link(t, filepath.Join(out, "case.yaml"), filepath.Join(dir, "wiper.yaml"))
		b.press("yes")
		assert.GreaterOrEqual(t, b.status, 400)
		assert.NotContains(t, b.text, "Secret pump")
		b.get("/job/wiper")
		assert.GreaterOrEqual(t, b.status, 400)
		assert.NotContains(t, b.text, "Secret pump")
		assert.Equal(t, before, holding(t, out))
	})
	t.Run("the folder of a case becomes one", func(t *testing.T) {
		out := elsewhere(t)
		dir := folderOf(t, map[string]string{"pumps/pump-2.yaml": pumpTwo, "jobs/case.yaml": onPumpTwo})
		before := holding(t, out)
		b := open(t, siteOver(t, dir), "/job/case")
		at, sends := b.button("no, it is stopped")
		require.NoError(t, os.Rename(filepath.Join(dir, "jobs"), filepath.Join(dir, "jobs-of-before")))
		link(t, filepath.Join(out, "jobs"), filepath.Join(dir, "jobs"))
		b.post(at, sends)
		assert.GreaterOrEqual(t, b.status, 400)
		assert.Equal(t, before, holding(t, out))
	})
	for _, folder := range []string{"jobs", "pumps"} {
		t.Run(folder, func(t *testing.T) {
			out := elsewhere(t)
			dir := folderOf(t, map[string]string{"pumps/pump-2.yaml": pumpTwo, "jobs/case.yaml": onPumpTwo})
			require.NoError(t, os.RemoveAll(filepath.Join(dir, folder)))
			link(t, filepath.Join(out, folder), filepath.Join(dir, folder))
			before := holding(t, out)
			s, refused := siteOver(t, dir), ""
			for _, title := range []string{"a new job on Pump two", "a new pump"} {
				b := open(t, s, "/")
				for range 8 {
					pressed := slices.IndexFunc([]string{title, "nobody reads it now", "it runs", "triplex, single-acting", "not known now"}, func(of string) bool {
						if b.offers(of) {
							b.press(of)
							return true
						}
						return false
					})
					if pressed < 0 && strings.Contains(b.asked(), "What is it called?") {
						b.words("Pump nine")
					}
					refused += b.refused()
				}
			}
			assert.Contains(t, refused, map[string]string{"jobs": "link that leads out of the folder", "pumps": ""}[folder])
			assert.Equal(t, before, holding(t, out))
		})
	}
	t.Run("the lock and what is written beside a case", func(t *testing.T) {
		out := elsewhere(t)
		dir := folderOf(t, map[string]string{"wiper.yaml": wiper})
		link(t, filepath.Join(out, "new-lock"), filepath.Join(dir, ".wiper.yaml.telltale-lock"))
		link(t, filepath.Join(out, "case.yaml"), filepath.Join(dir, ".wiper.yaml.telltale-new"))
		before := holding(t, out)
		b := open(t, siteOver(t, dir), "/job/wiper")
		at, sends := b.button("no, it is stopped")
		b.post(at, sends)
		assert.Equal(t, http.StatusInternalServerError, b.status)
		assert.Contains(t, b.refused(), "NOT be written")
		require.NoError(t, os.Remove(filepath.Join(dir, ".wiper.yaml.telltale-lock")))
		b.post(at, sends)
		assert.Equal(t, http.StatusOK, b.status, "%s", b.refused())
		assert.Equal(t, before, holding(t, out))
	})
}

// A file of two names is not written: one of them would keep what it had, and nobody
// would know. Both keep what they had, and it is said.
func TestAHardLink(t *testing.T) {
	out := elsewhere(t)
	dir := t.TempDir()
	if err := os.Link(filepath.Join(out, "case.yaml"), filepath.Join(dir, "case.yaml")); err != nil {
		t.Skip("no hard links here: ", err)
	}
	before := holding(t, out)
	b := open(t, siteOver(t, dir), "/job/case")
	at, sends := b.button("no, it is stopped")
	b.post(at, sends)
	assert.NotEqual(t, http.StatusOK, b.status)
	assert.Contains(t, b.refused(), "hard link")
	assert.NotContains(t, read(t, filepath.Join(dir, "case.yaml")), "stopped")
	assert.Equal(t, before, holding(t, out))
}
