package figures

import "telltale/rules"

// Gauge is a way to take a reading, with the smallest difference that it shows.
type Gauge struct {
	Title  string   `json:"title"`
	Shows  Length   `json:"shows"`
	Do     string   `json:"do"`
	Checks []string `json:"checks"` // whose readings can be taken with it
	Basis  string   `json:"basis"`
}

// Gauges lists gauges of the rulebook.
func Gauges(list []*rules.Gauge) []Gauge {
	out := []Gauge{}
	for _, g := range list {
		shows := Length{Mean: g.Resolves.SI, U: 2 * g.Resolves.SI} // a judged figure: it is good to a factor
		out = append(out, Gauge{Title: g.Title, Shows: shows, Do: g.Do, Checks: g.Checks, Basis: g.Basis})
	}
	return out
}
