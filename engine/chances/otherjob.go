package chances

import (
	"path/filepath"
	"strings"

	"telltale/evidence"
	"telltale/rules"
)

// withKeptOut gives the case with the stop conditions by which other open jobs on its pump
// keep that out of service, where they do not hold it by what stands open or locked.
func withKeptOut(book *rules.Book, k *evidence.Case) *evidence.Case {
	out := *k
	out.Others = nil
	for _, o := range k.Others {
		if !o.Holds() && !o.Job.IsClosed() {
			_, with, _ := measure(book, o.Case) // with an error too it has the figures past their limits
			other := &Model{Book: book, Case: with}
			for _, s := range other.Stops() {
				if s.OutOfService {
					o.KeptOut = append(o.KeptOut, other.stopTitle(s))
				}
			}
		}
		out.Others = append(out.Others, o)
	}
	return &out
}

// OtherSays is what another job on the pump says of how it stands.
func OtherSays(book *rules.Book, o *evidence.OtherJob) string {
	out := filepath.Base(o.File) + otherOpen + o.Job.Date.Format(evidence.DateForm) + says + string(o.Pump.State)
	if o.Job.IsClosed() {
		out = filepath.Base(o.File) + otherClosed + o.Job.Closed.Format(evidence.DateForm)
	}
	return strings.Join(append([]string{out}, LeftStanding(book, o.Case, o.KeptOut...)...), ". ") + "."
}

// LeftStanding says what stands open or locked by a case, and which stop conditions keep
// its pump out of service.
func LeftStanding(book *rules.Book, k *evidence.Case, keptOut ...string) (out []string) {
	add := func(what string, all []string) {
		if len(all) > 0 {
			out = append(out, what+strings.Join(all, "; "))
		}
	}
	titled := func(all []evidence.At) (titles []string) {
		for _, at := range all {
			titles = append(titles, Titled(book.Openings.Get(at.ID).Title, at.Place))
		}
		return titles
	}
	var locks, bleeds []string
	for _, l := range k.HangingLocks() {
		locks = append(locks, l.On+" ("+l.By+")")
	}
	for _, o := range k.StillLeftOpen() {
		bleeds = append(bleeds, o.What)
	}
	add(standOpen, titled(k.Pump.Open))
	add(wayBackOwed, titled(k.Pump.ClosedAgain))
	add(locksHang, locks)
	add(leftOpen, bleeds)
	add(keptOutBy, keptOut)
	return out
}
