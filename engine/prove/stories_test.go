package prove

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// How well told stories are heard does not fall behind what was reached. The
// floors are some points below it; they are no claim of accuracy.
func TestToldStories(t *testing.T) {
	book, suite := builtInSuite(t)
	for _, floor := range []struct {
		set                         string
		first, three, answer, place float64
		strongWrong                 float64
	}{
		{Tuned, 0.68, 0.80, 0.86, 0.75, 0.05},
		{HeldBack, 0.74, 0.84, 0.86, 0.74, 0.07},
		{Apart, 0.70, 0.82, 0.86, 0.74, 0.04},
	} {
		h := Listen(book, suite.Stories, floor.set)
		share := func(s Share) float64 { return float64(s.Right) / float64(s.Of) }
		assert.Greater(t, share(h.Signs), floor.first, floor.set)
		assert.Greater(t, share(h.Three), floor.three, floor.set)
		assert.Greater(t, share(h.Answers), floor.answer, floor.set)
		assert.Greater(t, share(h.Places), floor.place, floor.set)
		assert.Less(t, share(h.WrongStrong), floor.strongWrong, floor.set)
	}
}
