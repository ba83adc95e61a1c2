package engine

import (
	"telltale/engine/chances"
	"telltale/evidence"
)

// RootsOf gives the roots of a failure, likeliest first, and its chance of
// none, both given that it is there; told is false if the answer says nothing
// of it.
func (r *Report) RootsOf(cause string, place evidence.Place) (roots []chances.Root, byItself float64, told bool) {
	for _, t := range r.Troubles {
		if len(t.Failed) > 0 && t.Failed[0].Cause == cause && t.Failed[0].Place == place {
			return t.BroughtOnBy, t.ByItself, true
		}
	}
	for _, c := range r.Causes {
		if c.Cause == cause && c.Place == place {
			return c.BroughtOnBy, c.ByItself, true
		}
	}
	return nil, 0, false
}
