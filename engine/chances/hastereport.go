package chances

import (
	"slices"
	"sort"

	"telltale/evidence"
	"telltale/rules"
)

// The verdict as it is told: in the words of the book, with what carries it.

// WellFirst is the verdict when a stop condition demands that the pump is left.
const WellFirst = "well-first"

// leastCarried is the chance from which a cause is named beside the first one.
const leastCarried = 0.05

// mostCarried is how many causes a verdict names.
const mostCarried = 3

// Haste says how long the trouble can wait.
type Haste struct {
	// Verdict is stop-now, next-connection, planned-stop or watch; well-first
	// when the pump must be left.
	Verdict string `json:"verdict"`
	// Says is the verdict for the pump as it stands, running or not; or that
	// nothing was seen, or that no cause is likely behind what was.
	Says string `json:"says"`
	// Because are the stop conditions and causes that carry the verdict.
	Because []HasteReason `json:"because"`
	// ChangesIf is what would make it more or less urgent, worked out by
	// weighing the case again with that answer.
	ChangesIf []HasteChange `json:"changes_if"`
	// Chances are those that the verdict was taken from, the most urgent first.
	Chances []HasteChance `json:"chances"`
	// Doubt says how the verdict fares when the book's figures are moved at
	// random; nil where that was not tried or a stop condition decides.
	Doubt *HasteDoubt `json:"doubt,omitempty"`
}

// HasteReason is one stop condition or one cause that carries the verdict.
type HasteReason struct {
	Stop  string `json:"stop,omitempty"`
	Cause string `json:"cause,omitempty"`
	Title string `json:"title"`
	// Places are where the cause is most likely; none: the whole pump.
	Places []evidence.Place `json:"places"`
	// Chance that the cause is at one of these places and behind the findings;
	// 1 for one that was proved and for a stop condition.
	Chance  float64 `json:"chance"`
	Proved  bool    `json:"proved"`
	Wait    string  `json:"wait"`
	Because string  `json:"because,omitempty"`
	Basis   string  `json:"basis"`
}

// HasteChance is the chance that one cause at least, of this wait or a more
// urgent one, is there and behind the findings; From is where the book draws
// the line.
type HasteChance struct {
	Wait   string  `json:"wait"`
	Chance float64 `json:"chance"`
	From   float64 `json:"from"`
}

// The kinds of change.
const (
	ChangeProved = "proved" // the causes are proved
	ChangeOver   = "over"   // the stops are over, the causes ruled out, or corrected and looked at again if proved
	ChangeAnswer = "answer" // this answer to an open question
)

// HasteChange is something that would change the verdict, and to what.
type HasteChange struct {
	If      string        `json:"if"`
	Verdict string        `json:"verdict"`
	Then    string        `json:"then"`   // the verdict in words
	Sooner  bool          `json:"sooner"` // it is more urgent than before
	Stops   []string      `json:"stops,omitempty"`
	Causes  []HasteTarget `json:"causes,omitempty"`
	Answer  *HasteAnswer  `json:"answer,omitempty"`
}

// HasteAnswer is an answer to an open question: present or absent, of a kind
// if the sign has kinds.
type HasteAnswer struct {
	Sign string `json:"sign"`
	evidence.Place
	Question  string `json:"question"`
	Answer    string `json:"answer"`
	Kind      string `json:"kind,omitempty"`
	KindTitle string `json:"kind_title,omitempty"`
}

// HasteTarget is a cause whose proof, or whose end, would change the verdict,
// with the check that tells most surely.
type HasteTarget struct {
	Cause      string           `json:"cause"`
	Title      string           `json:"title"`
	Places     []evidence.Place `json:"places"`
	Proved     bool             `json:"proved"`
	Check      string           `json:"check,omitempty"`
	CheckTitle string           `json:"check_title,omitempty"`
}

// HasteDoubt says how often the verdict was the same, more and less urgent in
// books whose figures were moved at random.
type HasteDoubt struct {
	Books  int  `json:"books"`
	Same   int  `json:"same"`
	Sooner int  `json:"sooner"`
	Later  int  `json:"later"`
	Unsure bool `json:"unsure"` // more other verdicts than the book lets pass
}

// hasteReport puts the verdict into the book's words, with the stop conditions
// that carry it.
func (m *Model) hasteReport(h *hurry) *Haste {
	r := &Haste{Verdict: h.name(m.Book), Because: []HasteReason{}, ChangesIf: []HasteChange{}, Chances: []HasteChance{}}
	verdict := h.verdict(m.Book)
	words := m.wordsOf(r.Verdict)
	r.Says = m.saysStanding(words)
	if m.Case.Pump.State == evidence.Running {
		r.Says = m.Fill(words.Running)
	}
	for _, stop := range m.Stops() {
		if h.leave && stop.LeavePump || !h.leave && m.stopWait(stop) == verdict {
			reason := HasteReason{Stop: stop.ID, Title: m.Fill(stop.Title), Places: []evidence.Place{}, Chance: 1, Wait: string(verdict), Basis: stop.Basis}
			if stop.Haste != nil && !stop.StopPump {
				reason.Because, reason.Basis = m.Fill(stop.Haste.Because), stop.Haste.Basis
			}
			r.Because = append(r.Because, reason)
		}
	}
	for i, p := range h.chances {
		w := m.Book.Hurry.Waits[i]
		r.Chances = append(r.Chances, HasteChance{Wait: string(w.Wait), Chance: p, From: w.From})
	}
	return r
}

// saysStanding gives the words of a verdict for a pump that stands.
func (m *Model) saysStanding(words rules.WaitWords) string {
	if words.Wait == rules.StopNow || words.Wait == rules.Wait(WellFirst) {
		return m.Fill(words.Standing)
	}
	return m.locked(words.Standing)
}

// locked fills in the words of a verdict by which the pump could run; an isolated
// one does not before it is closed up and the locks are off.
func (m *Model) locked(words string) string {
	if m.Case.Pump.State == evidence.Isolated {
		words += " " + m.Book.Hurry.Locked
	}
	return m.Fill(words)
}

// addCauses puts the causes that carry the verdict into the report, or what is
// said where there is none.
func (w *Weighed) addCauses(h *hurry, weight []float64, r *Haste) error {
	for _, g := range w.carriers(h, weight) {
		chance, err := w.chanceOfSome(func(i int) bool { return slices.Contains(g.members, i) })
		if err != nil {
			return err
		}
		r.Because = append(r.Because, HasteReason{
			Cause: g.cause.ID, Title: w.Fill(g.cause.Title), Places: w.placesOf(g.members), Chance: chance, Proved: g.proved,
			Wait: string(g.haste.Wait), Because: w.Fill(g.haste.Because), Basis: g.haste.Basis,
		})
	}
	if h.under {
		r.Because = append(r.Because, HasteReason{Title: builtInAlone, Places: []evidence.Place{}, Wait: string(h.stops), Basis: rules.BasisJudgement})
	}
	switch {
	case len(r.Because) > 0:
	case len(w.Case.LookedAgain) > 0:
		r.Says = w.locked(w.Book.Hurry.Settled)
	case !h.seen:
		r.Says = w.locked(w.Book.Hurry.NothingSeen)
	default:
		r.Says = w.locked(w.Book.Hurry.Unexplained)
	}
	return nil
}

// placesOf is where causes are; empty for the whole pump.
func (m *Model) placesOf(causes []int) []evidence.Place {
	out := []evidence.Place{}
	for _, i := range causes {
		if p := m.Causes[i].Place; p != (evidence.Place{}) {
			out = append(out, p)
		}
	}
	return out
}

// carriers are the causes that carry a verdict, likeliest first: those that
// wait just as long, the first and what else is likely enough to be named; if
// there is none, those that are more urgent. A verdict to watch that no likely
// cause carries has none.
func (m *Model) carriers(h *hurry, weight []float64) []hasteGroup {
	verdict := h.verdict(m.Book)
	if verdict == rules.Watch {
		return m.groupsOf(h, weight, leastCarried, mostCarried, func(w rules.Wait) bool { return w == verdict })
	}
	if !m.reached(h, verdict) {
		return nil // a stop condition alone carries it
	}
	out := m.groupsOf(h, weight, 0, mostCarried, func(w rules.Wait) bool { return w == verdict })
	if len(out) == 0 {
		out = m.groupsOf(h, weight, 0, mostCarried, func(w rules.Wait) bool { return w.Sooner(verdict) })
	}
	n := min(1, len(out))
	for n < len(out) && out[n].chance >= leastCarried {
		n++
	}
	return out[:n]
}

// hasteGroup is one cause at the places where it is likeliest.
type hasteGroup struct {
	cause   *rules.Cause
	haste   rules.Haste
	proved  bool
	members []int   // causes of the model
	chance  float64 // added over the members, 1 at most
}

// groupsOf gathers the causes with a wait of some kind, the likeliest first. A
// place where a cause is less than half as likely as where it is likeliest is
// left out.
func (m *Model) groupsOf(h *hurry, weight []float64, least float64, most int, of func(rules.Wait) bool) []hasteGroup {
	var out []hasteGroup
	for first, after := 0, 0; first < len(m.Causes); first = after {
		for after = first + 1; after < len(m.Causes) && m.Causes[after].Cause == m.Causes[first].Cause; after++ {
		}
		top := slices.Max(weight[first:after])
		for i := first; i < after; i++ {
			if weight[i] == 0 || 2*weight[i] < top || !of(h.waits[i].Wait) {
				continue
			}
			at := slices.IndexFunc(out, func(g hasteGroup) bool {
				return g.cause == m.Causes[i].Cause && g.haste == h.waits[i] && g.proved == m.confirmed[i]
			})
			if at < 0 {
				at = len(out)
				out = append(out, hasteGroup{cause: m.Causes[i].Cause, haste: h.waits[i], proved: m.confirmed[i]})
			}
			out[at].members = append(out[at].members, i)
			out[at].chance = min(1, out[at].chance+weight[i])
		}
	}
	out = slices.DeleteFunc(out, func(g hasteGroup) bool { return g.chance < least })
	sort.SliceStable(out, func(a, b int) bool { return Likelier(out[a].chance, out[b].chance) })
	return out[:min(most, len(out))]
}

// wordsOf gives the book's words for a verdict.
func (m *Model) wordsOf(verdict string) rules.WaitWords {
	if verdict == WellFirst {
		return m.Book.Hurry.WellFirst
	}
	return m.Book.Hurry.Of(rules.Wait(verdict))
}

// reached says whether the chances alone give a verdict as urgent as this.
func (m *Model) reached(h *hurry, verdict rules.Wait) bool {
	byCauses := hurry{stops: rules.Watch, chances: h.chances}
	return !verdict.Sooner(byCauses.verdict(m.Book))
}
