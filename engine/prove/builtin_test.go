package prove

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"telltale/engine"
)

// The built-in book gives every answer that its proving cases want; every
// cause leads in one of them at least, and every discriminating fact is
// exercised. This is no measure of accuracy.
func TestTheBuiltInBookProves(t *testing.T) {
	book, suite := builtInSuite(t)
	out := suite.outcome(book, func(p *Proof) (*engine.Report, error) { return answers()[p.ID]() })
	for _, f := range out.Failures {
		t.Errorf("%s: %s: %s %v", f.Pos, f.Proof, f.Message, f.Reasons)
	}
	assert.Empty(t, out.NeverFirst, "causes that no proof brings first")
	assert.Empty(t, out.Unused, "facts that no proof exercises")
	assert.GreaterOrEqual(t, out.Proofs, 60)
	t.Logf("%d proofs, %d expectations hold", out.Proofs, out.Held)
}
