package main

import (
	"bytes"
	"encoding/json"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/cli"
)

// at is an entry of the rulebook at a place, as triage writes it in JSON.
type at struct {
	Cause    string `json:"cause"`
	Cylinder string `json:"cylinder"`
	End      string `json:"end"`
}

// Each open job of the demo rig gets what its crew would expect: what failed first,
// and what likeliest brought it on.
func TestTheOpenJobsOfTheDemoRigAreWeighed(t *testing.T) {
	open := map[string]struct {
		failed at
		by     at // zero: the likeliest is that nothing did
	}{
		"2026-10-24-pump-2-wiper.yaml":       {at{"wiper-worn-out", "2", ""}, at{"guide-and-crosshead-worn", "2", ""}},
		"2026-10-25-pump-1-hiss.yaml":        {failed: at{"discharge-valve-cut", "2", ""}},
		"2026-10-26-pump-3-valve-right.yaml": {failed: at{"discharge-valve-cut", "right", "crank"}},
	}
	for name, want := range open {
		var out, errOut bytes.Buffer
		file := filepath.Join("..", "..", "testdata", "rig", "jobs", name)
		require.Zero(t, cli.Main([]string{"triage", "--json", file}, nil, &out, &errOut), errOut.String())
		var report struct {
			Closed   bool `json:"closed"`
			Troubles []struct {
				Failed      []at `json:"failed"`
				BroughtOnBy []struct {
					at
					Probability float64 `json:"probability"`
				} `json:"brought_on_by"`
				ByItself float64 `json:"by_itself"`
			} `json:"troubles"`
		}
		require.NoError(t, json.Unmarshal(out.Bytes(), &report))
		assert.False(t, report.Closed, file)
		require.NotEmpty(t, report.Troubles, file)
		first := report.Troubles[0]
		require.NotEmpty(t, first.Failed, file)
		assert.Equal(t, want.failed, first.Failed[0], file)
		if want.by == (at{}) {
			assert.Greater(t, first.ByItself, 0.5, file)
			continue
		}
		require.NotEmpty(t, first.BroughtOnBy, file)
		assert.Equal(t, want.by, first.BroughtOnBy[0].at, file)
		assert.Greater(t, first.BroughtOnBy[0].Probability, 0.5, file)
	}
}
