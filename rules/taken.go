package rules

import (
	"slices"

	"telltale/evidence"
)

// What can only be had with covers off is safe at a stop and nowhere else. The
// book says what that is: a sign or a check that needs something opened, and
// readings whose sign shows such a sign.

// CoversOff says whether the sign can only be seen with something opened.
func (s *Sign) CoversOff() bool { return len(s.Openings) > 0 }

// CoversOff says whether the check can only be done with something opened.
func (c *Check) CoversOff() bool { return len(c.Openings) > 0 }

// blocksOff says whether the readings of a block can only be taken so.
func (b *Book) blocksOff(block string) bool {
	return slices.ContainsFunc(b.Thresholds.List, func(s *Threshold) bool {
		return s.Of.Kind().Block == block && b.Signs.Get(s.Sign).CoversOff()
	})
}

// coversOff names everything that can only be had with covers off.
func (b *Book) coversOff() map[string]bool {
	out := map[string]bool{}
	for _, s := range b.Signs.List {
		if s.CoversOff() {
			out[s.ID] = true
		}
	}
	for _, c := range b.Checks.List {
		if c.CoversOff() {
			out[c.ID] = true
		}
	}
	for _, s := range b.Thresholds.List {
		if b.Signs.Get(s.Sign).CoversOff() {
			out[s.Of.Kind().Block] = true
		}
	}
	return out
}

// TakenBeside names what a case holds that needs covers off and that was taken
// beside moving parts: signs, checks that found nothing, and blocks of
// readings, each once, by the alphabet. On a running pump that is all of which the case does not
// say that it was taken at the last stop; later what it says was taken so.
func (b *Book) TakenBeside(k *evidence.Case) []string {
	running := k.Pump.State == evidence.Running
	if !running && len(k.Taken) == 0 {
		return nil
	}
	var out []string
	add := func(name string, off bool) {
		when := k.TakenAt(name)
		beside := when == evidence.WhileRunning || when == "" && running
		if off && beside && !slices.Contains(out, name) {
			out = append(out, name)
		}
	}
	for _, f := range k.Findings {
		add(f.Sign, !f.Measured && b.Signs.Get(f.Sign).CoversOff())
	}
	for _, block := range k.Measured.Blocks() {
		add(block, b.blocksOff(block))
	}
	for _, at := range k.Cleared {
		add(at.ID, b.Checks.Get(at.ID).CoversOff())
	}
	slices.Sort(out)
	return out
}

// AsksBeside says whether a condition asks for what was taken beside moving
// parts.
func (c *Condition) AsksBeside() bool {
	return c != nil && (c.Beside || c.Or.AsksBeside())
}

// TakenTitle says in words what TakenBeside names: the title of the sign,
// else of the check, else the name of the block of readings.
func (b *Book) TakenTitle(name string) string {
	switch {
	case b.Signs.Get(name) != nil:
		return b.Signs.Get(name).Title
	case b.Checks.Get(name) != nil:
		return b.Checks.Get(name).Title
	}
	return "readings " + name
}
