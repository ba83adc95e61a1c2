package figures

import (
	"telltale/engine/measure"
	"telltale/evidence"
	"telltale/rules"
)

// Gap is readings at named points around a face or over a crosshead.
type Gap struct {
	Of       string `json:"of"` // rod-face-gap, fluid-end-gap
	Cylinder string `json:"cylinder"`
	Method   string `json:"method"`
	Points   []Spot `json:"points"`
	// Uneven is largest less smallest; nil for one point.
	Uneven *Length `json:"uneven,omitempty"`
}

// Spot is a reading at a named point.
type Spot struct {
	Name string `json:"name"`
	Read string `json:"read"`
	Length
}

func (w *worker) gaps() error {
	for i := range w.k.Measured.RodFaceGap {
		p := &w.k.Measured.RodFaceGap[i]
		values, err := w.gap("rod-face-gap", p)
		if err != nil {
			return at(p.Pos, err)
		}
		if len(values) > 1 {
			w.value(rules.RodFaceGapOneSide, p.Place, p.Pos, spread(values))
		}
		if len(values) >= fewestAround {
			w.out.Values = append(w.out.Values, Value{ID: rules.RodFaceGapAll, Place: p.Place, Of: values, Every: true, Pos: p.Pos})
		}
	}
	if p := w.k.Measured.FluidEndGap; p != nil {
		values, err := w.gap("fluid-end-gap", p)
		if err != nil {
			return at(p.Pos, err)
		}
		w.value(rules.FluidEndGapMost, p.Place, p.Pos, values...)
	}
	return nil
}

// fewestAround is how many points it takes to say "all round" a face.
const fewestAround = 3

func (w *worker) gap(of string, p *evidence.Points) ([]measure.Value, error) {
	g := Gap{Of: of, Cylinder: p.Place.Cylinder, Method: methodText(&p.Method)}
	values, err := pointValues(p)
	if err != nil {
		return nil, err
	}
	for i, point := range p.List {
		g.Points = append(g.Points, Spot{Name: point.Name, Read: point.Reading.String(), Length: length(values[i])})
	}
	if len(values) > 1 {
		uneven := length(spread(values))
		g.Uneven = &uneven
	}
	w.out.Gaps = append(w.out.Gaps, g)
	return values, nil
}

func pointValues(p *evidence.Points) ([]measure.Value, error) {
	var out []measure.Value
	for i := range p.List {
		v, err := reading(&p.List[i].Reading, &p.Method)
		if err != nil {
			return nil, err
		}
		out = append(out, v)
	}
	return out, nil
}

// spread is largest less smallest of several readings.
func spread(values []measure.Value) measure.Value {
	least, most := values[0], values[0]
	for _, v := range values[1:] {
		if v.Mean < least.Mean {
			least = v
		}
		if v.Mean > most.Mean {
			most = v
		}
	}
	return most.Minus(least)
}

func methodText(m *evidence.Method) string {
	out := "read to " + m.Resolution.String()
	if m.With != "" {
		out = m.With + ", " + out
	}
	if m.LargestLeaf {
		out += ", largest leaf that enters"
	}
	return out
}

// Survey is what diameters along a bore or a rod come to.
type Survey struct {
	Of       string    `json:"of"` // liner-bore, piston-rod, extension-rod
	Cylinder string    `json:"cylinder"`
	Method   string    `json:"method"`
	New      string    `json:"new,omitempty"`
	Stations []Station `json:"stations"`
	Taper    Length    `json:"taper"`
	Oval     Length    `json:"oval"`
	OvalAt   int       `json:"oval_at"` // number of the station, from 1; 0 if none has both directions
	// Wear is the most wear in any direction; nil without the new size.
	Wear *Length `json:"wear,omitempty"`
}

// Station is one station of a survey.
type Station struct {
	UpDown *Length `json:"up_down,omitempty"`
	Across *Length `json:"across,omitempty"`
}

func (w *worker) surveys() error {
	m := &w.k.Measured
	for _, s := range m.LinerBore {
		if err := w.survey("liner-bore", &s, measure.SurveyBore, rules.LinerOverBy, rules.LinerOvalBy, -1); err != nil {
			return at(s.Pos, err)
		}
	}
	for _, s := range m.PistonRod {
		if err := w.survey("piston-rod", &s, measure.SurveyRod, rules.PistonRodUnderBy, rules.PistonRodOvalBy, 1); err != nil {
			return at(s.Pos, err)
		}
	}
	for _, s := range m.ExtensionRod {
		if err := w.survey("extension-rod", &s, measure.SurveyRod, rules.ExtRodUnderBy, rules.ExtRodOvalBy, 1); err != nil {
			return at(s.Pos, err)
		}
	}
	return nil
}

// survey works one survey out. sign is +1 when wear makes the size smaller
// and -1 when it makes it larger.
func (w *worker) survey(of string, s *evidence.Survey, reduce func([]measure.Station, *measure.Value) (measure.Survey, error), worn, oval rules.MeasuredValue, sign float64) error {
	out := Survey{Of: of, Cylinder: s.Place.Cylinder, Method: methodText(&s.Method)}
	var stations []measure.Station
	var rounds, ovals []measure.Value // wear all round and difference of directions, by station
	for i := range s.Stations {
		upDown, err := optional(s.Stations[i].UpDown, &s.Method)
		if err != nil {
			return err
		}
		across, err := optional(s.Stations[i].Across, &s.Method)
		if err != nil {
			return err
		}
		out.Stations = append(out.Stations, Station{UpDown: lengthOf(upDown), Across: lengthOf(across)})
		both := present(upDown, across)
		stations = append(stations, measure.Station{Depth: float64(i), Across: both})
		if len(both) == 2 {
			ovals = append(ovals, spread(both))
		}
		if s.New != nil && len(both) > 0 {
			rounds = append(rounds, leastWear(both, s.New.SI, sign))
		}
	}
	var nominal *measure.Value
	if s.New != nil {
		out.New = s.New.String()
		nominal = &measure.Value{Mean: s.New.SI}
	}
	if len(ovals) > 0 {
		w.value(oval, s.Place, s.Pos, ovals...)
	}
	result, err := reduce(stations, nominal)
	if err != nil {
		return err
	}
	out.Taper, out.Oval, out.OvalAt = length(result.Taper), length(result.OutOfRound), result.RoundAt+1
	out.Wear = lengthOf(result.Wear)
	switch {
	case result.Wear == nil || len(rounds) == 0:
	case result.Wear.Mean < -mostUnworn:
		w.missing("%s, cylinder %s: every reading is on the wrong side of the new size; which size is in?", of, s.Place.Cylinder)
	default:
		w.value(worn, s.Place, s.Pos, rounds...)
	}
	if of == "liner-bore" && len(stations) > 1 {
		w.value(rules.LinerTaperBy, s.Place, s.Pos, result.Taper)
	}
	w.out.Surveys = append(w.out.Surveys, out)
	return nil
}

// mostUnworn is by how much, in metres, a part may seem better than new before
// another size is in: far more than any tolerance or instrument.
const mostUnworn = 0.5e-3

func present(values ...*measure.Value) []measure.Value {
	var out []measure.Value
	for _, v := range values {
		if v != nil {
			out = append(out, *v)
		}
	}
	return out
}

// leastWear is the wear in the direction that wore least: wear all round.
func leastWear(diameters []measure.Value, size, sign float64) measure.Value {
	var best measure.Value
	for i, d := range diameters {
		wear := measure.Value{Mean: sign * (size - d.Mean), U: d.U}
		if i == 0 || wear.Mean < best.Mean {
			best = wear
		}
	}
	return best
}
