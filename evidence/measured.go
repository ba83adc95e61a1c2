package evidence

import "telltale/evidence/source"

// Reading is one length that was read, in metres: from Low to High when the
// crew wrote a range ("15 to 16 thou"), else both the same. Written is the
// text.
type Reading struct {
	Low, High float64
	Written   string
	Pos       source.Pos
}

// Method says how the readings of a block were taken.
type Method struct {
	With        string   // the instrument, in the crew's words
	Resolution  Quantity // its smallest step
	LargestLeaf bool     // each reading is the largest feeler leaf that enters
	Pos         source.Pos
}

// Sides are the clearances around a rod, or the gaps around a face, at one
// station. What was not taken is nil.
type Sides struct {
	Top, Bottom, Left, Right *Reading
}

// Any says whether anything was taken.
func (s *Sides) Any() bool {
	return s.Top != nil || s.Bottom != nil || s.Left != nil || s.Right != nil
}

// Known is an answer to a yes-or-no question that may be open.
type Known string

// The answers of a question about how a reading was taken.
const (
	Yes       Known = "yes"
	No        Known = "no"
	NotStated Known = ""
)

// RodPlane is the readings around the rod at one opening, with the crosshead
// at the back, middle and front of its stroke. At is the distance of the
// opening from the crosshead's centre at mid stroke, toward the fluid end.
type RodPlane struct {
	At                  *Quantity
	Back, Middle, Front Sides
	Pos                 source.Pos
}

// GuideLevel is the slope of the guide against the line of the liner bore.
type GuideLevel struct {
	Slope           Quantity
	RisesToFluidEnd bool
	Within          Quantity // half-width of what it may be off
}

// RodInOpening is what was read around the extension rod of one cylinder.
type RodInOpening struct {
	Place Place
	Method
	Parted       Known // the piston rod is off the extension rod
	Seated       Known // the crosshead sits on the lower guide at all corners
	Planes       []RodPlane
	RearSupport  *Quantity // of the lower guide, behind the crosshead's centre at mid stroke
	FrontSupport *Quantity // in front of it
	Level        *GuideLevel
	CentreGuide  bool // a centre guide stands between outer ones
	Opening      *Quantity
	Rod          *Quantity
}

// Point is a reading at a named point.
type Point struct {
	Name string
	Reading
}

// Points is readings at named points of one place: the clearance over the
// crosshead, or a gap around a face.
type Points struct {
	Place Place
	Method
	List []Point
}

// Survey is the bore of a liner or the diameter of a rod at several stations
// along it.
type Survey struct {
	Place Place
	Method
	New      *Quantity // the size when new
	Stations []Diameters
}

// Diameters are one station's diameters up and down and across.
type Diameters struct{ UpDown, Across *Reading }

// TankTest is strokes counted against a volume that the pump moved. The
// Within figures are half-widths of what the counts may be off.
type TankTest struct {
	Strokes       float64
	StrokesWithin float64
	Volume        Quantity
	VolumeWithin  *Quantity
	Pos           source.Pos
}

// Gauged is what the gauges of the pump said at one time; nil where nobody read
// one. Load is of the drive, in any unit.
type Gauged struct {
	Discharge, Speed, ChargePressure, Load *Quantity
	Pos                                    source.Pos
}

// BeforeAndNow is what the gauges said before the trouble and what they say now.
type BeforeAndNow struct {
	Before, Now Gauged
	// SameSetting: the drive is set as it was.
	SameSetting bool
	// Mud is the rulebook's name of how the pressure goes with the strokes here;
	// "" if nobody says.
	Mud string
	// TwoRates are two readings of the sound pump, slow and fast, of discharge and
	// speed, that tell how it goes; none if they were not taken.
	TwoRates []Gauged
	Pos      source.Pos
}

// Pipe is one length of suction pipe.
type Pipe struct{ Length, Bore Quantity }

// Suction is what is known of the suction side.
type Suction struct {
	MudWeight       *Quantity
	MudAbove        *Quantity // mud level above the pump's suction
	MudBelow        *Quantity // or below it
	ChargePressure  *Quantity // gauge, at the pump's suction; takes the place of level and friction
	VapourPressure  *Quantity // absolute
	SurfacePressure *Quantity // absolute, on the mud in the pit
	Friction        *Quantity // head of mud lost in the suction line
	Needed          *Quantity // head that the pump needs at its suction, from its manual
	Pipes           []Pipe
	Pos             source.Pos
}

// PartRecord is when the parts of one kind were changed, in pump hours. A change
// at From says that a new part was in when the record starts.
type PartRecord struct {
	Part      string
	From, To  Quantity // pump hours at the ends of the record
	Expected  *Quantity
	Replaced  []PartPlace
	StillGood []PartPlace // those of Replaced at which the old part was still good
	Pos       source.Pos
}

// PartPlace is the changes at one place, in seconds of pump hours, in order.
type PartPlace struct {
	Place Place
	At    []Quantity
	Pos   []source.Pos // where each stands
}

// ShimThickness is shims of one thickness that are on hand.
type ShimThickness struct {
	Nominal  Quantity
	Measured *Quantity
	Pieces   int // 0: as many as are wanted
}

// Any says whether anything was measured or recorded.
func (m *Measured) Any() bool {
	return len(m.RodInOpening)+len(m.UpperGuide)+len(m.RodFaceGap)+len(m.LinerBore)+len(m.PistonRod)+len(m.ExtensionRod)+len(m.PartRecords) > 0 ||
		m.FluidEndGap != nil || m.TankTest != nil || m.BeforeAndNow != nil || m.Suction != nil
}

// Measured is everything that was measured.
type Measured struct {
	RodInOpening  []RodInOpening
	UpperGuide    []Points // clearance over the crosshead, one entry a cylinder
	RodFaceGap    []Points // gap at the face of the extension rod, one entry a cylinder
	FluidEndGap   *Points  // gap between fluid end and power end, of the pump
	LinerBore     []Survey
	PistonRod     []Survey
	ExtensionRod  []Survey
	TankTest      *TankTest
	BeforeAndNow  *BeforeAndNow
	Suction       *Suction
	PartRecords   []PartRecord
	ShimsOnHand   []ShimThickness
	ShimsOnHandAt source.Pos
}
