package upkeep

import (
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Whatever stands in the files of one pump: the rig is read, each file is used or
// named with what is wrong with it, what is known can be written down, and the other
// pump is there with its jobs.
func FuzzRig(f *testing.F) {
	const demo = "../../testdata/rig/"
	text := func(path string) []byte {
		read, err := os.ReadFile(demo + path)
		require.NoError(f, err)
		return read
	}
	jobs, err := filepath.Glob(demo + "jobs/*-pump-1-*.yaml")
	require.NoError(f, err)
	for three := range slices.Chunk(jobs[len(jobs)%3:], 3) {
		f.Add(text("pumps/pump-1.yaml"), text("jobs/"+filepath.Base(three[0])), text("jobs/"+filepath.Base(three[1])), text("jobs/"+filepath.Base(three[2])))
	}
	other := map[string]string{
		"pumps/pump-2.yaml":                    string(text("pumps/pump-2.yaml")),
		"jobs/2026-10-24-pump-2-wiper.yaml":    string(text("jobs/2026-10-24-pump-2-wiper.yaml")),
		"jobs/2026-10-16-pump-2-valve-3.yaml":  string(text("jobs/2026-10-16-pump-2-valve-3.yaml")),
		"jobs/2026-10-10-pump-2-piston-2.yaml": string(text("jobs/2026-10-10-pump-2-piston-2.yaml")),
	}
	book := builtIn(f)
	day := time.Date(2026, 10, 28, 0, 0, 0, 0, time.UTC)
	f.Fuzz(func(t *testing.T, pump, first, second, third []byte) {
		all := files{"pumps/pump-1.yaml": string(pump), "jobs/2026-10-21-pump-1-a.yaml": string(first), "jobs/2026-10-22-pump-1-b.yaml": string(second), "jobs/2026-10-23-pump-1-c.yaml": string(third)}
		for name, text := range other {
			all[name] = text
		}
		r := all.read(t, book)
		read := map[string]bool{}
		for _, p := range r.Pumps {
			read["pumps/"+filepath.Base(p.Path)] = true
			for _, k := range p.Jobs {
				read["jobs/"+filepath.Base(k.File)] = true
			}
		}
		for _, u := range r.Unread {
			name := filepath.Base(filepath.Dir(u.Path)) + "/" + filepath.Base(u.Path)
			assert.False(t, read[name], "%s is read and not", name)
			assert.Contains(t, all, name)
			read[name] = true
			assert.True(t, utf8.ValidString(u.Err.Error()) && strings.TrimSpace(u.Err.Error()) != "", "%q", u.Err)
		}
		for name := range all {
			assert.True(t, read[name], "%s is neither used nor named", name)
		}
		known, err := OfRig(book, r, Options{Now: day})
		require.NoError(t, err)
		_, err = json.Marshal(known)
		require.NoError(t, err)
		two := r.Named("pump-2")
		require.NotNil(t, two)
		assert.GreaterOrEqual(t, len(two.Jobs), 3)
	})
}
