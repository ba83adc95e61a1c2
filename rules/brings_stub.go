package rules

import "telltale/evidence"

func (c *Cause) BringsFor(k *evidence.Case, b *Book) []Bring { return c.Brings }
func (r *Bring) Links(failure *Cause, k *evidence.Case, b *Book) []Link {
	return overlay(failure.LinksFor(k, b), r.Shows)
}
