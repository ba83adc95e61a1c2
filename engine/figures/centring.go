package figures

import (
	"telltale/engine/align"
	"telltale/engine/measure"
)

// Length is a length in metres with its standard uncertainty.
type Length = measure.Length

// What is worked out at one cylinder: see engine/align.
type (
	Plane     = align.Plane
	Position  = align.Position
	Clearing  = align.Clearing
	Trend     = align.Trend
	Guide     = align.Guide
	Ends      = align.Ends
	Pack      = align.Pack
	UpperSpot = align.Spot
)

// Where a pack goes to one end of the lower guide.
const (
	UnderFront = align.UnderFront
	UnderRear  = align.UnderRear
)

// Centring is where the rod of one cylinder stands, what to do about it, and
// what that will do, with the rulebook's words. Its Outcome may be a graver one
// than that of the rod alone, and is always the id of an advice.
type Centring struct {
	Cylinder string `json:"cylinder"`
	Method   string `json:"method,omitempty"`
	Metric   bool   `json:"metric"` // the crew reads in mm
	align.Centring
	Title string `json:"title"` // the outcome in words
	// ByEnds is what the readings of one plane would ask for at each end, each
	// read with the crosshead there; only where they ask for different ones.
	ByEnds *Ends    `json:"by_ends,omitempty"`
	Least  *float64 `json:"upper_least_metres,omitempty"`
	Most   *float64 `json:"upper_most_metres,omitempty"`
	// LeastAnywhere is how low this pump's own least may be, where Least is
	// that of common practice.
	LeastAnywhere *float64 `json:"upper_least_anywhere_metres,omitempty"`
	// LimitsBasis says where the two limits come from.
	LimitsBasis string   `json:"upper_limits_basis,omitempty"`
	Notes       []Note   `json:"notes"` // those of the rod, each reason once, and of the limits
	Do          []string `json:"do"`
	// Procedures are the steps for the guides that are to be shimmed.
	Procedures []Procedure `json:"procedures"`
	// MeasureAgain: by the outcome readings are to be taken, or taken finer.
	MeasureAgain bool `json:"-"`
}

// IfRaised says whether what is foreseen is of a lift that is not to be made.
func (c *Centring) IfRaised() bool {
	return c.Outcome == align.StopAndAsk || c.Outcome == DoubtAfter
}

// PacksStand says whether the packs can be fitted on these readings alone.
func (c *Centring) PacksStand() bool {
	return c.Outcome == align.EqualShims && !c.Says(align.OnePosition)
}

// decide makes an outcome the one that counts, with the rulebook's words.
func (w *worker) decide(c *Centring, outcome align.Outcome) {
	words := w.advice(advice(outcome))
	c.Outcome, c.Title, c.Do = outcome, words.Title, words.Do
	a := w.book.Advice.Get(string(outcome))
	c.MeasureAgain = a != nil && a.MeasureAgain
}

// advice is the id of an advice of the rulebook.
type advice string

// advice gives the book's words for an id, with the figures of the case.
func (w *worker) advice(id advice) Note {
	if a := w.book.Advice.Get(string(id)); a != nil {
		return Note{Code: a.ID, Title: w.book.Fill(w.k, a.Title), Do: w.book.FillAll(w.k, a.Do)}
	}
	return Note{Code: string(id), Title: string(id), Do: []string{}}
}

// Note is a remark of the working out with its words.
type Note struct {
	Code  string   `json:"code"`
	Where string   `json:"where,omitempty"`
	Title string   `json:"title"`
	Do    []string `json:"do"`
}
