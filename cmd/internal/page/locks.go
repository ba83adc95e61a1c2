package page

import "telltale/engine"

// lockBlock has the locks and what stays open, as the case has them; it is shown
// even while the pump waits.
func lockBlock(r *engine.Report) block {
	b := block{heading: "LOCKS, AND WHAT STAYS OPEN, BY THE CASE"}
	b.list = LockLines(r)
	if len(b.list) > 0 {
		b.paras = []string{"Each takes off his own lock. Nobody takes off another's. See for yourself that it is so."}
	}
	return b
}

// LockLines has one line for each lock and each thing that stays open, those
// that hang or stand open first.
func LockLines(r *engine.Report) []string {
	var now, over []string
	for _, l := range r.Locks {
		if l.Hangs {
			now = append(now, l.Text)
		} else {
			over = append(over, l.Text)
		}
	}
	for _, o := range r.StaysOpen {
		if o.Open {
			now = append(now, o.Text)
		} else {
			over = append(over, o.Text)
		}
	}
	return append(now, over...)
}
