package study

import (
	"math"
	"slices"
	"sort"
	"strings"
	"time"

	"telltale/engine"
	"telltale/engine/chances"
	"telltale/engine/lives"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

// Result is what the closed cases say of the rulebook.
type Result struct {
	Rulebook string `json:"rulebook"`
	Digest   string `json:"digest"`
	// Local is the local book that was laid over it; nil if there is none.
	Local  *engine.LocalReport `json:"local,omitempty"`
	Closed int                 `json:"closed"`
	Open   int                 `json:"open"` // no cause was proved: left out
	// Failure is of the cases in which a failure was proved: it, at its place, as
	// what failed. Alone is of those in which only roots were proved: one of them,
	// told as what is wrong. Root is of the failures whose root is named: it, at
	// its place, given the failure; that nothing brought it on is one of the answers.
	Failure Right `json:"failure"`
	Root    Right `json:"root"`
	Alone   Right `json:"root_alone"`
	// Brier is the mean over the cases of the sum over the causes of
	// (chance - truth)^2; Log that of -ln(chance of the truth), 0 being perfect
	// (Brier 1950; Good 1952).
	Brier float64 `json:"brier"`
	Log   float64 `json:"log"`
	Bands []Band  `json:"bands"`
	// Planned is the mean minutes to the check that shows a proved cause in the
	// planned order; Took the mean minutes from the first line of the log to
	// the proof, both over the Timed cases that have both.
	Timed   int      `json:"timed"`
	Planned float64  `json:"planned_minutes"`
	Took    float64  `json:"took_minutes"`
	Common  []Common `json:"how_common"`
	Misses  []Miss   `json:"misses"`
}

// Right is how often the truth was told first and among the first three; the
// first is also one of the three.
type Right struct {
	Of      int `json:"of"`
	First   int `json:"first"`
	Three   int `json:"first_three"`
	NotTold int `json:"not_told"` // it was not told at all
}

// Band is the causes whose chance lay from From to To: were they there as often
// as said?
type Band struct {
	From  float64 `json:"from"`
	To    float64 `json:"to"`
	Count int     `json:"count"`
	Said  float64 `json:"said"`  // mean chance
	There float64 `json:"there"` // share that was proved
	Low   float64 `json:"low"`   // limits of that share
	High  float64 `json:"high"`
}

// Common is what the record would make of how common a cause is.
type Common struct {
	Cause  string  `json:"cause"`
	Proved int     `json:"proved"` // cases
	Book   float64 `json:"book"`
	Record float64 `json:"record"` // posterior mean
	Low    float64 `json:"low"`
	High   float64 `json:"high"`
	Moves  bool    `json:"moves"` // the book's figure lies outside the limits
}

// Miss is a closed case whose truth was not told among the first three.
type Miss struct {
	Case  string  `json:"case"`
	Cause string  `json:"cause"` // nothing, if it is that nothing brought the failure on
	Place string  `json:"place"`
	Of    string  `json:"of"`   // the failure with its place, if the cause is its root
	Rank  int     `json:"rank"` // 0: not told
	Said  float64 `json:"said"`
}

var bandEdges = []float64{0, 0.02, 0.1, 0.3, 0.6, 0.9, 1}

// Study gathers closed cases one after another.
type Study struct {
	book   *rules.Book
	ranker *chances.Ranker
	out    Result
	proved map[string]int // cases, by cause
	said   []float64      // sums by band
	there  []int
}

// New starts a study of a book.
func New(book *rules.Book) *Study {
	n := len(bandEdges) - 1
	s := &Study{book: book, ranker: chances.NewRanker(book), proved: map[string]int{}, said: make([]float64, n), there: make([]int, n)}
	s.out.Rulebook, s.out.Digest, s.out.Local = book.Name, book.Digest, engine.LocalBook(book)
	for i := range n {
		s.out.Bands = append(s.out.Bands, Band{From: bandEdges[i], To: bandEdges[i+1]})
	}
	return s
}

// Add scores one case. What was proved, corrected and checked, and whether a work
// cured the trouble, is taken away before it is weighed; the findings and readings stay. An open case is only
// counted. The errors are those of engine.Diagnose.
func (s *Study) Add(k *evidence.Case) error {
	if len(k.Confirmed) == 0 {
		s.out.Open++
		return nil
	}
	blind := *k
	blind.Confirmed, blind.RuledOut, blind.Corrected, blind.LookedAgain, blind.Cleared, blind.Unclear = nil, nil, nil, nil, nil, nil
	blind.Pump.Open = nil
	blind.Recent = slices.Clone(k.Recent)
	for i := range blind.Recent {
		blind.Recent[i].Cured = evidence.NotStated
	}
	r, err := s.ranker.Rank(&blind, 0)
	if err != nil {
		return err
	}
	if r.LeavePump {
		s.out.Open++
		return nil
	}
	whole, err := engine.Tell(s.book, &blind)
	if err != nil {
		return err
	}
	s.out.Closed++
	s.score(k, r)
	s.tell(k, whole)
	s.time(k, whole)
	return nil
}

// score holds the chances of all causes against what was proved or named as a
// root.
func (s *Study) score(k *evidence.Case, r *chances.Ranking) {
	truth := map[chances.RankedCause]bool{}
	causes := map[string]bool{}
	for _, at := range k.Confirmed {
		truth[chances.RankedCause{Cause: at.ID, Place: at.Place}] = true
		causes[at.ID] = true
	}
	for _, b := range k.BroughtOn {
		if b.By.ID != "" {
			truth[chances.RankedCause{Cause: b.By.ID, Place: b.By.Place}] = true
			causes[b.By.ID] = true
		}
	}
	for id := range causes {
		s.proved[id]++
	}
	for _, c := range r.Causes {
		s.weigh(c.Probability, truth[chances.RankedCause{Cause: c.Cause, Place: c.Place}])
	}
}

// leastSaid keeps one case that the book held for impossible from drowning all
// others in the log score.
const leastSaid = 1e-6

func (s *Study) weigh(p float64, is bool) {
	band := sort.SearchFloat64s(bandEdges[1:], p)
	band = min(band, len(s.said)-1)
	s.said[band] += p
	s.out.Bands[band].Count++
	if is {
		s.there[band]++
		s.out.Brier += (1 - p) * (1 - p)
		s.out.Log -= math.Log(math.Max(p, leastSaid))
		return
	}
	s.out.Brier += p * p
	s.out.Log -= math.Log1p(-math.Min(p, 1-leastSaid))
}

// time adds the minutes of the planned order and of what was done, if both are
// known.
func (s *Study) time(k *evidence.Case, r *engine.Report) {
	took, ok := tookMinutes(k)
	if !ok {
		return
	}
	if planned, ok := s.plannedMinutes(k, r); ok {
		s.out.Timed++
		s.out.Planned += planned
		s.out.Took += took
	}
}

// plannedMinutes is when the list comes to the first check that exposes a
// proved cause at its place.
func (s *Study) plannedMinutes(k *evidence.Case, r *engine.Report) (float64, bool) {
	for _, step := range r.Steps {
		if step.Kind != work.StepCheck {
			continue
		}
		for _, f := range s.book.Checks.Get(step.ID).Finds {
			for _, at := range k.Confirmed {
				if f.Cause == at.ID && step.Place.Touches(at.Place) {
					return step.MinutesByHere, true
				}
			}
		}
	}
	return 0, false
}

// ProvedPrefix starts the line of the log that notes a proved cause.
const ProvedPrefix = "proved: "

// tookMinutes is from the first line of the log that has a time to the line
// that notes the proof.
func tookMinutes(k *evidence.Case) (float64, bool) {
	var start time.Time
	for _, line := range k.Log {
		at, err := time.Parse(time.RFC3339, line.At)
		if err != nil {
			continue
		}
		if start.IsZero() {
			start = at
		}
		if strings.HasPrefix(line.Did, ProvedPrefix) && !at.Before(start) {
			return at.Sub(start).Minutes(), true
		}
	}
	return 0, false
}

// Result closes the study. weight is how many cases the book's own figure of
// how common a cause is counts for; confidence that of the limits.
func (s *Study) Result(weight, confidence float64) (*Result, error) {
	out := s.out
	out.Bands = append([]Band{}, s.out.Bands...)
	if n := float64(out.Closed); n > 0 {
		out.Brier /= n
		out.Log /= n
	}
	if n := float64(out.Timed); n > 0 {
		out.Planned /= n
		out.Took /= n
	}
	for i := range out.Bands {
		b := &out.Bands[i]
		if b.Count == 0 {
			continue
		}
		var err error
		b.Said, b.There = s.said[i]/float64(b.Count), float64(s.there[i])/float64(b.Count)
		// Jeffreys limits: nothing is known of the share beforehand.
		if b.Low, b.High, err = lives.ShareLimits(float64(s.there[i])+0.5, float64(b.Count-s.there[i])+0.5, confidence); err != nil {
			return nil, err
		}
	}
	return &out, s.common(&out, weight, confidence)
}

// common holds the book's figures of how common a cause is against the record.
func (s *Study) common(out *Result, weight, confidence float64) error {
	out.Common = []Common{}
	for _, c := range s.book.Causes.List {
		k, n := float64(s.proved[c.ID]), float64(out.Closed)
		a, b := c.Common*weight+k, (1-c.Common)*weight+n-k
		low, high, err := lives.ShareLimits(a, b, confidence)
		if err != nil {
			return err
		}
		moves := c.Common < low || c.Common > high
		if k > 0 || moves {
			out.Common = append(out.Common, Common{Cause: c.ID, Proved: int(k), Book: c.Common, Record: a / (a + b), Low: low, High: high, Moves: moves})
		}
	}
	sort.SliceStable(out.Common, func(i, j int) bool { return out.Common[i].Proved > out.Common[j].Proved })
	return nil
}
