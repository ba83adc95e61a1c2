package evidence

import (
	"fmt"
	"path/filepath"
	"slices"
)

// OtherJob is another job on the pump of a case, as it says that the pump stands.
type OtherJob struct {
	*Case
	// KeptOut are the stop conditions of it that keep the pump out of service. No file
	// says so: it is filled in when the case is laid over a book.
	KeptOut []string
}

// Holds says whether the job keeps its pump from being started, locked or opened for
// another one: somebody may be at work on it, or the pump is not to run.
func (o *OtherJob) Holds() bool {
	return !o.Job.IsClosed() && o.Pump.State == Isolated || o.LeftStanding() || len(o.KeptOut) > 0
}

// LeftStanding says whether by the case a lock hangs, something is open or stays open, or
// was closed again without its way back to service: no job is over before.
func (c *Case) LeftStanding() bool {
	return len(c.Pump.Open)+len(c.Pump.ClosedAgain)+len(c.HangingLocks())+len(c.StillLeftOpen()) > 0
}

// JobsThatMayHold are those of a pump's jobs that may hold it: what is closed only where
// something was left standing. Each by what it says itself, without the others.
func JobsThatMayHold(jobs []*Case) (out []OtherJob) {
	for _, k := range jobs {
		if k.Job.IsClosed() && !k.LeftStanding() {
			continue
		}
		alone := *k
		alone.Others = nil
		out = append(out, OtherJob{Case: &alone})
	}
	return out
}

// HoldsAs tells in one line, to be compared, which of some jobs hold their pump by what
// stands open or locked, and how.
func HoldsAs(others []OtherJob) string {
	out := ""
	for _, o := range others {
		if o.KeptOut = nil; !o.Holds() {
			continue
		}
		out += fmt.Sprintln(o.File, o.Job.IsClosed(), o.Pump.State)
		for _, at := range slices.Concat(o.Pump.Open, []At{{}}, o.Pump.ClosedAgain) {
			out += fmt.Sprintln(at.ID, at.Place)
		}
		for _, l := range o.Locks {
			out += fmt.Sprintf("%q %q %q %t\n", l.On, l.By, l.Tag, l.Hangs())
		}
		for _, left := range o.StaysOpen {
			out += fmt.Sprintf("%q %t\n", left.What, left.Open())
		}
	}
	return out
}

// others are the jobs of a pump that may hold it but the one of a file.
func (p *PumpFile) others(file string) []OtherJob {
	if p == nil {
		return nil
	}
	own := func(o OtherJob) bool { return filepath.Base(o.File) == filepath.Base(file) }
	if !slices.ContainsFunc(p.Others, own) {
		return p.Others
	}
	return slices.DeleteFunc(slices.Clone(p.Others), own)
}
