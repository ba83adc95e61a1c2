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
			return w.at(p.Pos, err)
		}
		if len(values) > 1 {
			w.value(rules.RodFaceGapOneSide, p.Place, p.Pos, measure.Spread(values...))
		}
		if len(values) >= fewestAround {
			w.out.Values = append(w.out.Values, Value{ID: rules.RodFaceGapAll, Place: p.Place, Of: values, Every: true, Pos: p.Pos})
		}
	}
	if p := w.k.Measured.FluidEndGap; p != nil {
		values, err := w.gap("fluid-end-gap", p)
		if err != nil {
			return w.at(p.Pos, err)
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
		g.Points = append(g.Points, Spot{Name: point.Name, Read: point.Reading.String(), Length: values[i]})
	}
	if len(values) > 1 {
		uneven := measure.Spread(values...)
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
