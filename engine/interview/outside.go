package interview

import (
	"slices"

	"telltale/rules"
)

// Outside says whether a cause is put right away from the pump, such as by the
// driller or in the mud: it takes no part, and whatever finds it is done with
// nothing opened and the pump neither stopped nor isolated for it.
func Outside(book *rules.Book, cause string) bool {
	if len(book.Causes.Get(cause).Parts) > 0 {
		return false
	}
	return !slices.ContainsFunc(book.Checks.List, func(c *rules.Check) bool {
		finds := slices.ContainsFunc(c.Finds, func(f rules.Find) bool { return f.Cause == cause })
		away := c.Pump == rules.NeedsRunning || c.Pump == rules.NeedsNothing || c.Pump == rules.NeedsNotIsolated
		return finds && (!away || len(c.Access) > 0)
	})
}
