package rig_test

import (
	"path/filepath"
	"regexp"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"telltale/evidence"
	"telltale/evidence/rig"
)

// demo is the invented rig on which the pages of a rig are shown.
var demo = filepath.Join("..", "..", "testdata", "rig")

var jobName = regexp.MustCompile(`^(\d{4}-\d\d-\d\d)-(pump-\d)-[a-z0-9]+(-[a-z0-9]+)*\.yaml$`)

// Nothing of the demo rig stays unread, and each job says of itself what its name
// and its pump's meter say.
func TestTheDemoRigReads(t *testing.T) {
	r, err := rig.Read(demo, words(t))
	require.NoError(t, err)
	for _, u := range r.Unread {
		t.Error(u.Err)
	}
	require.Len(t, r.Pumps, 3)
	open := 0
	for _, p := range r.Pumps {
		require.GreaterOrEqual(t, len(p.Jobs), 25, p.Name)
		require.Len(t, p.Dated, 2, p.Name)
		hours := 0.0
		for _, k := range p.Jobs {
			name := jobName.FindStringSubmatch(filepath.Base(k.File))
			require.NotNil(t, name, k.File)
			require.Equal(t, k.Job.Date.Format(evidence.DateForm), name[1], k.File)
			require.Equal(t, k.Job.Pump, name[2], k.File)
			require.NotNil(t, k.Job.Hours, k.File)
			total := p.Total(k.Job.Date, *k.Job.Hours)
			require.GreaterOrEqual(t, total, hours, "%s: the meter runs backwards", k.File)
			hours = total
			for _, m := range p.Meter {
				if read := p.Total(m.Date, m.Hours); m.Date.Before(k.Job.Date) {
					require.LessOrEqual(t, read, total, "%s: less than the meter showed before", k.File)
				} else if m.Date.After(k.Job.Date) {
					require.GreaterOrEqual(t, read, total, "%s: more than the meter showed later", k.File)
				}
			}
			require.Equal(t, settled(k), k.Job.IsClosed(), "%s: closed, but something is left to do; or the other way about", k.File)
			if !k.Job.IsClosed() {
				open++
			}
		}
	}
	require.Equal(t, 3, open)
}

// settled says whether a job has nothing left to do: all that was proved was put
// right and looked at again, nothing stands open and no lock hangs. A job with
// findings of a trouble must have proved something.
func settled(k *evidence.Case) bool {
	trouble := slices.ContainsFunc(k.Findings, func(f evidence.Finding) bool { return f.Answer == evidence.Present })
	measured := len(k.Measured.Blocks()) > 0
	return len(k.LookedAgain) == len(k.Confirmed) && len(k.Corrected) == len(k.Confirmed) &&
		(len(k.Confirmed) > 0 || measured || !trouble) && len(k.Pump.Open) == 0 &&
		!slices.ContainsFunc(k.Locks, func(l evidence.Lock) bool { return l.Hangs() })
}
