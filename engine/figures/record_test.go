package figures

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine/lives"
)

// A record that was fitted is not fitted again; one that differs in anything is, and no more
// are kept than a talk needs.
func TestARecordIsFittedOnce(t *testing.T) {
	record := func(changed ...float64) lives.Record {
		return lives.Record{Places: []lives.Place{{From: 0, To: 3000, Changed: changed}, {From: 0, To: 3000, Changed: []float64{900, 1700, 2600}}}}
	}
	first, err := fittedOf(record(400, 850, 1200), 0.95)
	require.NoError(t, err)
	again, err := fittedOf(record(400, 850, 1200), 0.95)
	require.NoError(t, err)
	assert.Same(t, first, again)
	fresh, err := fit(record(400, 850, 1200), 0.95)
	require.NoError(t, err)
	assert.Equal(t, fresh, first)
	surer, err := fittedOf(record(400, 850, 1200), 0.9)
	require.NoError(t, err)
	assert.NotSame(t, first, surer)
	for hour := range 2 * mostRecords {
		other, err := fittedOf(record(400, 850, 1201+float64(hour)), 0.95)
		require.NoError(t, err)
		assert.NotSame(t, first, other)
		assert.LessOrEqual(t, len(records.of), mostRecords)
	}
	_, err = fittedOf(record(-1), 0.95)
	require.Error(t, err)
}
