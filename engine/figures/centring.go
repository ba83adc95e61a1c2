package figures

// Centring is where the rod of one cylinder stands, what to do about it, and
// what that will do.
type Centring struct {
	Cylinder string  `json:"cylinder"`
	Method   string  `json:"method,omitempty"`
	Metric   bool    `json:"metric"` // the crew reads in mm
	Planes   []Plane `json:"planes"`
	Guide    *Guide  `json:"guide,omitempty"`
	// Outcome and the codes of the notes are ids of the rulebook's advice.
	Outcome     string `json:"outcome"`
	Title       string `json:"title"` // the outcome in words
	AskEngineer bool   `json:"ask_engineer"`
	Wanted      *Ends  `json:"wanted,omitempty"` // under the lower guide
	// ByEnds is what the readings of one plane would ask for at each end, each
	// read with the crosshead there; only where they ask for different ones.
	ByEnds *Ends  `json:"by_ends,omitempty"`
	Packs  []Pack `json:"packs"`
	// Upper is the clearance over the crosshead, now and after the packs.
	Upper []UpperSpot `json:"upper_guide"`
	Least *float64    `json:"upper_least_metres,omitempty"`
	Most  *float64    `json:"upper_most_metres,omitempty"`
	// LeastAnywhere is how low this pump's own least may be, where Least is
	// that of common practice.
	LeastAnywhere *float64 `json:"upper_least_anywhere_metres,omitempty"`
	// LimitsBasis says where the two limits come from.
	LimitsBasis string    `json:"upper_limits_basis,omitempty"`
	UpperFix    *UpperFix `json:"upper_shims,omitempty"`
	Short       *Short    `json:"short,omitempty"`
	Notes       []Note    `json:"notes"`
	Do          []string  `json:"do"`
	// Procedures are the steps for the guides that are to be shimmed.
	Procedures []Procedure `json:"procedures"`
}

// Plane is one opening at which the rod was measured.
type Plane struct {
	At        *float64   `json:"at_metres,omitempty"`
	Positions []Position `json:"positions"`
	Height    *Trend     `json:"height,omitempty"`
	Side      *Trend     `json:"side,omitempty"`
	// Rests is the height at mid stroke after the packs.
	Rests *Length `json:"height_after,omitempty"`
}

// Position is the readings with the crosshead at one place of its stroke.
type Position struct {
	Name    string    `json:"crosshead"` // back, middle, front
	Top     *Length   `json:"top,omitempty"`
	Bottom  *Length   `json:"bottom,omitempty"`
	Left    *Length   `json:"left,omitempty"`
	Right   *Length   `json:"right,omitempty"`
	Height  *Length   `json:"height,omitempty"` // of the rod over the centre; below zero is low
	Side    *Length   `json:"side,omitempty"`   // toward the right
	Sum     *Length   `json:"sum,omitempty"`    // top and bottom
	Suspect bool      `json:"suspect"`
	After   *Clearing `json:"after,omitempty"`
}

// Clearing is what is foreseen at a position after the packs.
type Clearing struct {
	Top    Length `json:"top"`
	Bottom Length `json:"bottom"`
	Height Length `json:"height"`
}

// Trend is how a height or a side goes along the stroke.
type Trend struct {
	Mean    Length  `json:"mean"`
	Change  *Length `json:"change,omitempty"` // front less back
	Bow     *Length `json:"bow,omitempty"`
	Changes bool    `json:"changes"`
	Bows    bool    `json:"bows"`
}

// Guide is the lower guide and the rod told apart.
type Guide struct {
	Height     Length `json:"height"`          // at the crosshead's mid stroke
	Slope      Length `json:"slope_per_metre"` // rising toward the fluid end, metres per metre
	Skew       Length `json:"rod_out_of_square_per_metre"`
	Slopes     bool   `json:"slopes"`
	Skewed     bool   `json:"skewed"`
	RodCentred *Ends  `json:"rod_centred,omitempty"` // shims that would centre the rod and leave the guide
}

// Ends is a thickness at each end of a guide; below zero is to be taken out.
type Ends struct {
	Front Length `json:"front"`
	Rear  Length `json:"rear"`
	Equal bool   `json:"equal"`
}

// Pack is a stack of shims from what is on hand.
type Pack struct {
	Where     string   `json:"where"` // "under the lower guide, both ends"
	Pieces    []string `json:"pieces"`
	Thickness Length   `json:"thickness"`
	Off       float64  `json:"off_metres"` // thickness less what was wanted
}

// UpperSpot is the clearance over the crosshead at one place.
type UpperSpot struct {
	Spot
	Stand       string  `json:"stand"`
	Inside      float64 `json:"chance_inside"`
	Under       float64 `json:"chance_under"`
	After       *Length `json:"after,omitempty"` // the lower guide's packs
	AfterStand  string  `json:"after_stand,omitempty"`
	AfterInside float64 `json:"after_chance_inside,omitempty"`
	AfterUnder  float64 `json:"after_chance_under,omitempty"`
	// AfterBoth is with the shims above the upper guide too.
	AfterBoth *Length `json:"after_both,omitempty"`
}

// UpperFix is what shims above the upper guide would bring every place inside.
type UpperFix struct {
	Least  float64  `json:"least_metres"`
	Most   float64  `json:"most_metres"` // less than Least: no thickness does
	Wanted *float64 `json:"wanted_metres,omitempty"`
	Pack   *Pack    `json:"pack,omitempty"`
}

// Short is by how much raising would leave a place under its least clearance.
type Short struct {
	Spot string `json:"spot"`
	By   Length `json:"by"`
}

// Note is a remark of the working out with its words.
type Note struct {
	Code  string   `json:"code"`
	Where string   `json:"where,omitempty"`
	Title string   `json:"title"`
	Do    []string `json:"do"`
}
