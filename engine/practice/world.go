package practice

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"

	"telltale/engine/chances"
	"telltale/evidence"
	"telltale/rules"
)

// The levels of difficulty.
const (
	CommonFault = 1 // one common fault, with clear signs from outside
	AnyFault    = 2 // one fault of any kind
	TwoFaults   = 3 // two faults, and a vague report
)

// Setup is which exercise is drawn; the same setup gives the same world.
type Setup struct {
	Seed   uint64
	Level  int
	Action evidence.Action // "" draws the kind of pump too
}

// ErrNoPractice says that the rulebook has no section practice.
var ErrNoPractice = errors.New("this rulebook has no section practice; no exercise can be drawn from it")

// Sign is how a sign shows at a place.
type Sign struct {
	Present bool
	Kind    string // "" where the sign has none or several kinds show at once
	// By are the hidden causes that show it, as indexes of World.Hidden; none
	// where it is background alone.
	By []int
}

// World is one pump with everything that looking can bring to light.
type World struct {
	Setup
	book   *rules.Book
	Pump   evidence.Pump
	Hidden []evidence.At // the causes that are there
	// sources are the ways in which they are there, what brings on before what it
	// brought on.
	sources []source
	signs   map[evidence.At]Sign
	expose  map[evidence.At][]int // by check: which of Hidden it exposes
	rods    map[evidence.Place]RodReading
	shown   []*rules.Sign   // that can show on this pump
	asks    map[string]bool // see asksRoot
	// Told is what the crew reported.
	Told []evidence.Finding
	last *moment         // see Session.weigh
	back *chances.Budget // of looking back; nil: each moment has one of its own
}

// The streams of chance of one seed, so that a change of one drawing leaves
// the others as they are.
const (
	streamPump = iota + 1
	streamWorld
	streamTold
	streamNames
	streamQuiz
)

func chance(seed, stream uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, stream)) }

// mostTries bounds how often the signs of a world are drawn again because the
// crew would have had nothing to report.
const mostTries = 200

// Draw draws the exercise. Causes by themselves come with the chances of the
// rulebook given how many there are: one of those common enough at level 1, any
// one at level 2, any two at level 3; what they brought on comes with them. The
// signs of these causes are drawn until the crew has something to report.
func Draw(book *rules.Book, setup Setup) (*World, error) {
	if book.Practice == nil {
		return nil, ErrNoPractice
	}
	if setup.Level < CommonFault || setup.Level > TwoFaults {
		return nil, fmt.Errorf("level %d: there are the levels 1 to 3", setup.Level)
	}
	if setup.Action == "" {
		setup.Action = []evidence.Action{evidence.Triplex, evidence.Duplex}[chance(setup.Seed, streamPump).IntN(2)]
	}
	random := chance(setup.Seed, streamWorld)
	among, err := faultless(book, setup).among()
	if err != nil {
		return nil, err
	}
	for {
		w := faultless(book, setup)
		w.drawCauses(random, among)
		if w.drawUntilTold(random) {
			w.rods = w.drawRods(random)
			return w, nil
		}
	}
}

// drawUntilTold draws the signs until the crew has enough to report; false if
// these causes do not show enough. At levels 2 and 3 a cause that shows nothing
// from outside stays: its crew reports nothing.
func (w *World) drawUntilTold(random *rand.Rand) bool {
	need := 1
	if w.Level == CommonFault {
		need = w.book.Practice.ClearSigns
	}
	for range mostTries {
		w.drawSigns(random)
		if len(w.shownOutside()) >= need {
			break
		}
	}
	if w.Level == CommonFault && len(w.shownOutside()) < need {
		return false
	}
	w.drawProof(random)
	w.stand()
	w.Told = w.report(chance(w.Seed, streamTold))
	return true
}

// faultless is a pump that hides nothing. What no cause of the book gives, as a
// bleed that dribbles, does not show on it: it would only hold the work up.
func faultless(book *rules.Book, setup Setup) *World {
	w := &World{Setup: setup, book: book, Pump: evidence.Pump{
		Name:   "Practice pump",
		Layout: evidence.Layout{Action: setup.Action, Cylinders: evidence.DefaultCylinders(setup.Action)},
		State:  evidence.Running, Rotation: evidence.RotationUnknown,
	}}
	for _, s := range book.Signs.List {
		if s.When.HoldsForPump(&w.Pump) && book.Given(s.ID) {
			w.shown = append(w.shown, s)
		}
	}
	w.asks = w.rooted()
	return w
}

// bare is the pump with nothing known of it.
func (w *World) bare() *evidence.Case { return &evidence.Case{Pump: w.Pump, Taken: atStops} }

// atStops: what needs covers off is only ever taken at a stop here.
var atStops = map[string]evidence.Taken{evidence.Others: evidence.AtLastStop}

// among gives the causes with which a trouble of the level can begin.
func (w *World) among() (among []start, err error) {
	for _, in := range chances.New(w.book, w.bare()).Causes {
		if w.Level != CommonFault || in.Cause.Common >= w.book.Practice.CommonFrom {
			none := noneFrom(w.reaches(evidence.At{ID: in.Cause.ID, Place: in.Place}))[0]
			among = append(among, start{in, none})
		}
	}
	if len(among) < 2 {
		return nil, errors.New("this rulebook has too few causes to draw from")
	}
	return among, nil
}

// pick draws an index with a chance in proportion to its weight.
func pick(random *rand.Rand, weights []float64) int {
	sum := 0.0
	for _, w := range weights {
		sum += w
	}
	left, last := random.Float64()*sum, 0
	for i, w := range weights {
		if w == 0 {
			continue
		}
		last = i
		if left -= w; left < 0 {
			return i
		}
	}
	return last
}

// drawSigns draws every sign at every place: the background and each way in which
// a hidden cause that touches the place is there show it, each by itself, one kind
// at most.
func (w *World) drawSigns(random *rand.Rand) {
	w.signs = map[evidence.At]Sign{}
	links := make([]map[string]rules.Link, len(w.sources))
	for i, s := range w.sources {
		links[i] = map[string]rules.Link{}
		for _, link := range w.linksOf(s) {
			links[i][link.Sign] = link
		}
	}
	for _, s := range w.shown {
		for _, place := range w.Pump.Places(s.Level) {
			w.signs[evidence.At{ID: s.ID, Place: place}] = w.drawSign(random, s, place, links)
		}
	}
}

// linksOf are the links of a hidden cause as it came.
func (w *World) linksOf(s source) []rules.Link {
	c := w.book.Causes.Get(w.Hidden[s.cause].ID)
	if s.bring == nil {
		return c.LinksFor(w.bare(), w.book)
	}
	return s.bring.Links(c, w.bare(), w.book)
}

func (w *World) drawSign(random *rand.Rand, s *rules.Sign, place evidence.Place, links []map[string]rules.Link) Sign {
	var sign Sign
	var kinds []string
	if random.Float64() < s.Background {
		sign.Present = true
		if len(s.Kinds) > 0 {
			kinds = append(kinds, s.Kinds[random.IntN(len(s.Kinds))].ID)
		}
	}
	for i, from := range w.sources {
		link, linked := links[i][s.ID]
		if !linked || !w.Hidden[from.cause].Place.Touches(place) || random.Float64() >= link.Total {
			continue
		}
		sign.Present = true
		if !slices.Contains(sign.By, from.cause) {
			sign.By = append(sign.By, from.cause)
		}
		if len(s.Kinds) > 0 {
			kinds = append(kinds, s.Kinds[pick(random, link.Kinds)].ID)
		}
	}
	if len(kinds) > 0 && len(slices.Compact(kinds)) == 1 {
		sign.Kind = kinds[0]
	}
	return sign
}

// drawChecks draws for every check at every place which hidden causes it
// exposes, by its sureness; of a cause that came in two ways either way.
func (w *World) drawChecks(random *rand.Rand) {
	w.expose = map[evidence.At][]int{}
	for _, c := range w.book.Checks.List {
		for _, place := range w.Pump.Places(c.Level) {
			for _, f := range c.Finds {
				for _, s := range w.sources {
					at, key := w.Hidden[s.cause], evidence.At{ID: c.ID, Place: place}
					if f.Cause == at.ID && at.Place.Touches(place) && random.Float64() < f.Sure && !slices.Contains(w.expose[key], s.cause) {
						w.expose[key] = append(w.expose[key], s.cause)
					}
				}
			}
		}
	}
}

// drawProof draws what the checks expose until each hidden cause can be proved:
// one that no check would show could not be found by anybody.
func (w *World) drawProof(random *rand.Rand) {
	for range mostTries {
		if w.drawChecks(random); w.provable() {
			return
		}
	}
}

func (w *World) provable() bool {
	for i, at := range w.Hidden {
		shown := slices.ContainsFunc(w.Proofs(at), func(check evidence.At) bool { return slices.Contains(w.expose[check], i) })
		if !shown && len(w.Proofs(at)) > 0 {
			return false
		}
	}
	return true
}

// Proofs gives the checks, at their places, that can find a cause.
func (w *World) Proofs(cause evidence.At) []evidence.At {
	var out []evidence.At
	for _, c := range w.book.Checks.List {
		if !c.When.HoldsForPump(&w.Pump) || !slices.ContainsFunc(c.Finds, func(f rules.Find) bool { return f.Cause == cause.ID }) {
			continue
		}
		for _, p := range w.Pump.Places(c.Level) {
			if p.Touches(cause.Place) {
				out = append(out, evidence.At{ID: c.ID, Place: p})
			}
		}
	}
	return out
}

// stand lets a pump that shows certain signs stand already.
func (w *World) stand() {
	w.Pump.State = evidence.Running
	for _, id := range w.book.Practice.StandsIf {
		if w.Sign(id, evidence.Place{}).Present {
			w.Pump.State = evidence.Stopped
		}
	}
}

// Sign is how a sign shows at one of its places.
func (w *World) Sign(sign string, place evidence.Place) Sign {
	return w.signs[evidence.At{ID: sign, Place: place}]
}

// Exposes gives the hidden causes that a check at a place exposes.
func (w *World) Exposes(check string, place evidence.Place) []evidence.At {
	var out []evidence.At
	for _, i := range w.expose[evidence.At{ID: check, Place: place}] {
		out = append(out, w.Hidden[i])
	}
	return out
}
