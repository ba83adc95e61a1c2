package measure

import (
	"errors"
	"fmt"
)

// Station is one depth (metres from the face) with diameters across it in one or more
// directions (for example top to bottom, side to side).
type Station struct {
	Depth  float64
	Across []Value
}

// Survey is what diameters at several depths say about a bore or a rod.
//
// Taper, OutOfRound and Wear pick the largest and the smallest of several readings: on a
// perfect part they come out above 0 by chance alone, so compare them with their U, or
// ask Together whether any place is past a limit.
type Survey struct {
	Means      []Value // mean diameter at each station
	Taper      Value   // largest less smallest mean over depth; 0 for one station
	TaperAt    [2]int  // station of the largest and of the smallest mean
	OutOfRound Value   // largest difference of two directions at one depth
	RoundAt    int     // station of OutOfRound, -1 if no depth has two directions
	Wear       *Value  // most wear against nominal at any reading; nil without nominal
	WearAt     int     // station of Wear, -1 without nominal
}

// SurveyBore is a survey of a bore, which wears larger: Wear is diameter less nominal.
func SurveyBore(stations []Station, nominal *Value) (Survey, error) {
	return survey(stations, nominal, 1)
}

// SurveyRod is a survey of a rod, which wears smaller: Wear is nominal less diameter.
func SurveyRod(stations []Station, nominal *Value) (Survey, error) {
	return survey(stations, nominal, -1)
}

func survey(stations []Station, nominal *Value, sign float64) (Survey, error) {
	if err := checkStations(stations, nominal); err != nil {
		return Survey{}, err
	}
	s := Survey{RoundAt: -1, WearAt: -1}
	for i, station := range stations {
		s.Means = append(s.Means, mean(station.Across))
		s.round(i, station.Across)
		if nominal != nil {
			s.wear(i, station.Across, *nominal, sign)
		}
	}
	for i, m := range s.Means {
		if m.Mean > s.Means[s.TaperAt[0]].Mean {
			s.TaperAt[0] = i
		}
		if m.Mean < s.Means[s.TaperAt[1]].Mean {
			s.TaperAt[1] = i
		}
	}
	if s.TaperAt[0] != s.TaperAt[1] {
		s.Taper = s.Means[s.TaperAt[0]].Minus(s.Means[s.TaperAt[1]])
	}
	return s, nil
}

func checkStations(stations []Station, nominal *Value) error {
	if len(stations) == 0 {
		return errors.New("no diameters")
	}
	for _, s := range stations {
		if err := checkNumber("depth", s.Depth); err != nil {
			return err
		}
		if len(s.Across) == 0 {
			return fmt.Errorf("no diameter at depth %g m", s.Depth)
		}
		for _, v := range s.Across {
			if err := checkDiameter(v); err != nil {
				return err
			}
		}
	}
	if nominal == nil {
		return nil
	}
	return checkDiameter(*nominal)
}

func checkDiameter(v Value) error {
	if err := v.Check(); err != nil {
		return err
	}
	if v.Mean <= 0 {
		return fmt.Errorf("diameter %g m is not above 0", v.Mean)
	}
	return nil
}

func mean(values []Value) Value {
	var total Value
	for _, v := range values {
		total = total.Plus(v)
	}
	return total.Times(1 / float64(len(values)))
}

func (s *Survey) round(station int, across []Value) {
	if len(across) < 2 {
		return
	}
	most, least := across[0], across[0]
	for _, v := range across[1:] {
		if v.Mean > most.Mean {
			most = v
		}
		if v.Mean <= least.Mean {
			least = v
		}
	}
	if d := most.Minus(least); s.RoundAt < 0 || d.Mean > s.OutOfRound.Mean {
		s.OutOfRound, s.RoundAt = d, station
	}
}

func (s *Survey) wear(station int, across []Value, nominal Value, sign float64) {
	for _, v := range across {
		if w := v.Minus(nominal).Times(sign); s.Wear == nil || w.Mean > s.Wear.Mean {
			s.Wear, s.WearAt = &w, station
		}
	}
}

// Offset is how far the middle between two opposite readings of wall, radius or gap lies
// toward the first: half of their difference. With one-sided wear of a bore it is how far
// the worn bore has moved; an even enlargement gives 0, which diameters cannot tell.
func Offset(toward, opposite Value) (Value, error) {
	if err := errors.Join(toward.Check(), opposite.Check()); err != nil {
		return Value{}, err
	}
	return toward.Minus(opposite).Times(0.5), nil
}
