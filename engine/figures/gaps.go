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

func (w *worker) gaps() {
	for i := range w.k.Measured.RodFaceGap {
		p := &w.k.Measured.RodFaceGap[i]
		values := w.gap("rod-face-gap", p)
		if len(values) > 1 {
			w.value(rules.RodFaceGapOneSide, p.Place, p.Pos, measure.Spread(values...))
		}
		if len(values) >= fewestAround {
			w.out.Values = append(w.out.Values, Value{ID: rules.RodFaceGapAll, Place: p.Place, Of: values, Every: true, Pos: p.Pos})
		}
	}
	if p := w.k.Measured.FluidEndGap; p != nil {
		w.value(rules.FluidEndGapMost, p.Place, p.Pos, w.gap("fluid-end-gap", p)...)
	}
}

// fewestAround is how many points it takes to say "all round" a face.
const fewestAround = 3

func (w *worker) gap(of string, p *evidence.Points) []measure.Value {
	g := Gap{Of: of, Cylinder: p.Place.Cylinder, Method: methodText(&p.Method)}
	values := pointValues(p)
	for i, point := range p.List {
		g.Points = append(g.Points, Spot{Name: point.Name, Read: point.Reading.String(), Length: values[i]})
	}
	if len(values) > 1 {
		uneven := measure.Spread(values...)
		g.Uneven = &uneven
	}
	w.out.Gaps = append(w.out.Gaps, g)
	return values
}

func pointValues(p *evidence.Points) []measure.Value {
	var out []measure.Value
	for i := range p.List {
		out = append(out, reading(&p.List[i].Reading, &p.Method))
	}
	return out
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
