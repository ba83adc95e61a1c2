package measure

import (
	"errors"
	"math"
)

// Limits are the least and the most allowed; nil means no such limit. A value at a limit
// keeps it.
type Limits struct {
	Least, Most *float64
}

// Check returns an error if a limit is not a usable number or the two are crossed.
func (l Limits) Check() error {
	for _, x := range []*float64{l.Least, l.Most} {
		if x == nil {
			continue
		}
		if err := checkNumber("limit", *x); err != nil {
			return err
		}
	}
	if l.Least != nil && l.Most != nil && *l.Least > *l.Most {
		return errors.New("the least allowed is above the most allowed")
	}
	return nil
}

func (l Limits) ends() (least, most float64) {
	least, most = math.Inf(-1), math.Inf(1)
	if l.Least != nil {
		least = *l.Least
	}
	if l.Most != nil {
		most = *l.Most
	}
	return least, most
}

// Stand is where a value stands against its limits.
type Stand string

// The stands. The three doubtful ones lie nearer to a limit than the guard band and say
// on which side of it the best estimate is.
const (
	Inside      Stand = "inside"
	Under       Stand = "under"
	Over        Stand = "over"
	DoubtInside Stand = "in doubt, rather inside"
	DoubtUnder  Stand = "in doubt, rather under"
	DoubtOver   Stand = "in doubt, rather over"
)

// Verdict is a stand with the probability of each side; the three add up to 1.
type Verdict struct {
	Stand                Stand
	Below, Inside, Above float64
}

// Judge compares a value with limits, keeping a guard band of guard uncertainties on
// each side of a limit (JCGM 106:2012, 8.3.2): inside only if the value is inside by at
// least the band, under or over only if outside by more than the band. A guard of 1.645
// gives 95 % from one side; 0 is simple acceptance, wrong up to half the time at the limit.
func Judge(v Value, l Limits, guard float64) (Verdict, error) {
	if err := errors.Join(v.Check(), l.Check(), checkGuard(guard)); err != nil {
		return Verdict{}, err
	}
	least, most := l.ends()
	verdict := Verdict{Below: v.Below(least), Inside: v.Between(least, most), Above: v.Above(most)}
	band := guard * v.U
	switch {
	case v.Mean < least-band:
		verdict.Stand = Under
	case v.Mean > most+band:
		verdict.Stand = Over
	case v.Mean < least:
		verdict.Stand = DoubtUnder
	case v.Mean > most:
		verdict.Stand = DoubtOver
	case v.Mean >= least+band && v.Mean <= most-band:
		verdict.Stand = Inside
	default:
		verdict.Stand = DoubtInside
	}
	return verdict, nil
}

func checkGuard(k float64) error {
	if math.IsNaN(k) || k < 0 || k > 100 {
		return errors.New("the guard factor must be from 0 to 100")
	}
	return nil
}
