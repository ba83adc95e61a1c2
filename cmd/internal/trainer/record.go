package trainer

import (
	"encoding/json"
	"errors"
	"fmt"

	"telltale/cmd/internal/doc"
	"telltale/engine/practice"
)

// Record gives the record of an exercise that is over, without its time.
func (x *Exercise) Record() (practice.Record, error) {
	if err := x.judge(); err != nil {
		return practice.Record{}, err
	}
	r := x.s.RecordOf(x.judged)
	r.Corrections, r.CorrectionsAsked, r.Shims, r.ShimsAsked = x.corrections, x.correctionsAsked, x.shims, x.shimsAsked
	return r, nil
}

// NotRecorded keeps an exercise that was done from being lost with its file.
func NotRecorded(err error, r practice.Record) error {
	line, lineErr := json.Marshal(r)
	if lineErr != nil {
		return errors.Join(err, lineErr)
	}
	return fmt.Errorf("the exercise was not recorded: %w\nAdd this line by hand:\n%s", err, doc.EscapeJSON(line))
}
