package figures

import (
	"cmp"
	"fmt"
	"sync"

	"telltale/engine/lives"
)

// fitted is what the lives of one record come to.
type fitted struct {
	all    []lives.Life
	trend  lives.Trend
	groups []lives.Group
	worst  lives.Worst
	fits   []*lives.Weibull // of each group; nil with too few failures
}

// records keeps what the last records came to: a talk works the same ones out again and
// again, also for each answer that it only tries. What is kept is only read.
var records struct {
	sync.Mutex
	of map[string]*fitted
}

// mostRecords is how many are kept.
const mostRecords = 64

// fittedOf is fit, or what it gave for the same record.
func fittedOf(record lives.Record, confidence float64) (*fitted, error) {
	key := fmt.Sprint(record, confidence)
	records.Lock()
	out := records.of[key]
	records.Unlock()
	if out != nil {
		return out, nil
	}
	out, err := fit(record, confidence)
	if err != nil {
		return nil, err
	}
	records.Lock()
	defer records.Unlock()
	if records.of == nil || len(records.of) == mostRecords {
		records.of = map[string]*fitted{}
	}
	records.of[key] = out
	return out, nil
}

func fit(record lives.Record, confidence float64) (*fitted, error) {
	all, err := record.Lives()
	if err != nil {
		return nil, err
	}
	out := &fitted{all: all}
	var trendErr error
	var beside sync.WaitGroup
	beside.Go(func() { out.trend, trendErr = lives.TrendOf(all, confidence) })
	out.groups, out.worst, err = lives.Groups(record, confidence)
	beside.Wait()
	for _, g := range out.groups {
		fit, fitErr := lives.Fit(g.Lives, confidence)
		out.fits, err = append(out.fits, fit), cmp.Or(err, fitErr)
	}
	if err = cmp.Or(err, trendErr); err != nil {
		return nil, err
	}
	return out, nil
}
