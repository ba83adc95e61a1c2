package figures

import (
	"fmt"
	"slices"

	"telltale/engine/measure"
	"telltale/evidence"
	"telltale/rules"
)

// Survey is what diameters along a bore or a rod come to.
type Survey struct {
	Of       string    `json:"of"` // liner-bore, piston-rod, extension-rod
	Cylinder string    `json:"cylinder"`
	Method   string    `json:"method"`
	New      string    `json:"new,omitempty"`
	Stations []Station `json:"stations"`
	Taper    Length    `json:"taper"` // largest less smallest mean of a station
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

// surveyed is a kind of part with the signs that look at it. sign is +1 when
// wear makes the size smaller and -1 when it makes it larger.
type surveyed struct {
	of         string
	list       []evidence.Survey
	worn, oval rules.MeasuredValue
	sign       float64
}

func (w *worker) surveys() error {
	m := &w.k.Measured
	for _, kind := range []surveyed{
		{"liner-bore", m.LinerBore, rules.LinerOverBy, rules.LinerOvalBy, -1},
		{"piston-rod", m.PistonRod, rules.PistonRodUnderBy, rules.PistonRodOvalBy, 1},
		{"extension-rod", m.ExtensionRod, rules.ExtRodUnderBy, rules.ExtRodOvalBy, 1},
	} {
		for i := range kind.list {
			if err := w.survey(&kind, &kind.list[i]); err != nil {
				return w.at(kind.list[i].Pos, err)
			}
		}
	}
	return nil
}

// survey works one survey out.
func (w *worker) survey(kind *surveyed, s *evidence.Survey) error {
	out := Survey{Of: kind.of, Cylinder: s.Place.Cylinder, Method: methodText(&s.Method)}
	var means, ovals, rounds []measure.Value // of the stations; rounds: wear all round
	var most *measure.Value
	for i := range s.Stations {
		upDown, across := optional(s.Stations[i].UpDown, &s.Method), optional(s.Stations[i].Across, &s.Method)
		out.Stations = append(out.Stations, Station{UpDown: upDown, Across: across})
		both := present(upDown, across)
		if d := slices.MinFunc(both, measure.Compare); d.Mean <= 0 {
			return fmt.Errorf("diameter %g m is not above 0", d.Mean)
		}
		means = append(means, measure.Mean(both...))
		if len(both) == 2 {
			oval := measure.Spread(both...)
			ovals = append(ovals, oval)
			if out.OvalAt == 0 || oval.Mean > out.Oval.Mean {
				out.Oval, out.OvalAt = oval, i+1
			}
		}
		if s.New != nil {
			least, wear := kind.wear(both, s.New.SI)
			rounds = append(rounds, least)
			if most == nil || wear.Mean > most.Mean {
				most = &wear
			}
		}
	}
	taper := measure.Spread(means...)
	out.Taper, out.Wear = taper, most
	if s.New != nil {
		out.New = s.New.String()
	}
	if len(ovals) > 0 {
		w.value(kind.oval, s.Place, s.Pos, ovals...)
	}
	switch {
	case most == nil:
	case most.Mean < -mostUnworn:
		w.missing("%s, cylinder %s: every reading is on the wrong side of the new size; which size is in?", kind.of, s.Place.Cylinder)
	default:
		w.value(kind.worn, s.Place, s.Pos, rounds...)
	}
	if kind.of == "liner-bore" && len(means) > 1 {
		w.value(rules.LinerTaperBy, s.Place, s.Pos, taper)
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

// wear is that in the direction that wore least, which is wear all round, and
// in the one that wore most.
func (kind *surveyed) wear(diameters []measure.Value, size float64) (least, most measure.Value) {
	for i, d := range diameters {
		wear := measure.Value{Mean: kind.sign * (size - d.Mean), U: d.U}
		if i == 0 || wear.Mean < least.Mean {
			least = wear
		}
		if i == 0 || wear.Mean > most.Mean {
			most = wear
		}
	}
	return least, most
}
