package pages

import (
	"telltale/cmd/internal/doc"
	"telltale/engine"
)

// Beside is what stands beside a question that is put: what failed and what brought
// it on, what was proved, and what is near its limit.
func Beside(r *engine.Report) *doc.Document {
	d := &doc.Document{}
	if !r.LeavePump {
		d.Add(confirmed(r), troubles(r, false), ratings(r))
	}
	return d
}

// StopBox is the stop conditions alone.
func StopBox(r *engine.Report) *doc.Document {
	d := &doc.Document{}
	d.Add(stops(r))
	return d
}

// PumpName is the pump of a report in one line.
func PumpName(r *engine.Report) string { return pumpLines(r)[0] }
