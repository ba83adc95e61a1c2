package engine

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"

	"telltale/engine/chances"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

// Diagnose weighs the case against the book. The error is an
// *ImpossibleError when the book holds the findings to be impossible, a
// *noisyor.TooWideError when the case is past what is computed exactly,
// ErrTooUnlikely, or a *source.InputError when a reading and the crew's word
// exclude each other. With an error the Report holds the stop conditions and
// nothing else: they speak whether or not the rest can be weighed.
func Diagnose(book *rules.Book, k *evidence.Case) (*Report, error) {
	r, _, err := diagnose(book, k)
	return r, err
}

// diagnose is Diagnose with the list; nil if there is none.
func diagnose(book *rules.Book, k *evidence.Case) (*Report, *work.List, error) {
	m, r, err := lay(book, k)
	if err != nil {
		return r, nil, err
	}
	if k.Measured.Any() {
		r.Measured = m.Measured
	}
	if r.LeavePump {
		r.Notes = append(r.Notes, pumpWaits)
		return r, nil, nil
	}
	stopsOnly := *r
	w, err := m.Weigh()
	if err != nil {
		return &stopsOnly, nil, err
	}
	list, err := r.answer(w)
	if err != nil {
		return &stopsOnly, nil, err
	}
	if err := m.Spent(); err != nil {
		return &stopsOnly, nil, err
	}
	return r, list, nil
}

// Measure works out the readings of a case alone, without weighing causes: the
// Report holds the pump, the stop conditions and what was measured. The errors
// are those of Diagnose that readings can give.
func Measure(book *rules.Book, k *evidence.Case) (*Report, error) {
	m, r, err := lay(book, k)
	if err != nil {
		return r, err
	}
	if r.Measured = m.Measured; r.LeavePump {
		return r, nil
	}
	w, err := m.Solve()
	if err != nil {
		return r, nil // the readings speak for themselves; the rest cannot be weighed
	}
	r.Haste, err = w.Haste(nil)
	return r, err
}

// Outline is Diagnose without what only explains: the stop conditions, the
// causes by their chance, and the steps. It is for trying what an answer would
// change.
func Outline(book *rules.Book, k *evidence.Case) (*Report, error) {
	r, _, err := outline(book, k)
	return r, err
}

// Tell is Outline with what failed and what brought it on.
func Tell(book *rules.Book, k *evidence.Case) (*Report, error) {
	r, w, err := outline(book, k)
	return r, r.tell(w, err)
}

// TellAlone is Tell without the steps.
func TellAlone(book *rules.Book, k *evidence.Case) (*Report, error) {
	r, w, err := outlook(book, k, chances.NewBudget())
	return r, r.tell(w, err)
}

// tell fills in what failed and what brought it on, where something was weighed.
func (r *Report) tell(w *chances.Weighed, err error) error {
	if err != nil || w == nil {
		return err
	}
	r.Confirmed = w.Proved()
	r.Troubles, err = w.Troubles()
	return cmp.Or(err, w.Spent())
}

// outline is Outline with what was weighed; nil if nothing was.
func outline(book *rules.Book, k *evidence.Case) (*Report, *chances.Weighed, error) {
	r, w, err := outlook(book, k, chances.NewBudget())
	if err != nil || w == nil {
		return r, nil, err
	}
	list, err := work.Plan(w)
	r.list(list)
	return r, w, err
}

// outlook is outline without the steps, within a budget.
func outlook(book *rules.Book, k *evidence.Case, budget *chances.Budget) (*Report, *chances.Weighed, error) {
	m, r, err := lay(book, k)
	if err != nil || r.LeavePump {
		return r, nil, err
	}
	w, err := m.Within(budget).Solve()
	if err != nil {
		return r, nil, err
	}
	r.Causes = w.Open()
	return r, w, m.Spent()
}

// PlanTeardown plans the teardown for the likely causes of the case, or for
// the causes that are named. The errors are those of Diagnose.
func PlanTeardown(book *rules.Book, k *evidence.Case, named []evidence.At) (*Teardown, error) {
	r, list, err := diagnose(book, k)
	if err != nil || list == nil {
		return &Teardown{Report: r, Teardown: work.NoTeardown()}, err
	}
	t, list, err := work.OpenOnce(list, named)
	if err != nil {
		return &Teardown{Report: r, Teardown: work.NoTeardown()}, err
	}
	if len(named) > 0 {
		straight := r.GoStraight
		r.list(list)
		r.GoStraight = straight
	}
	return &Teardown{Report: r, Teardown: t}, nil
}

// answer fills in everything that follows from the chances. It gives the list.
func (r *Report) answer(w *chances.Weighed) (list *work.List, err error) {
	r.Causes, r.Confirmed = w.Open(), w.Proved()
	if r.Troubles, err = w.Troubles(); err != nil {
		return nil, err
	}
	if r.Unexplained, err = w.Unexplained(); err != nil {
		return nil, err
	}
	if r.Groups, err = w.Groups(); err != nil {
		return nil, err
	}
	if r.NoneOfThese, err = w.NoneOfThese(); err != nil {
		return nil, err
	}
	r.settled = len(r.Confirmed) > 0 && len(r.Unexplained) == 0 && len(r.rootsLeft()) == 0 &&
		!slices.ContainsFunc(r.Confirmed, func(c chances.Confirmed) bool { return !c.LookedAgain })
	r.Closed = r.settled && !w.Case.LeftStanding()
	if r.settled && w.Case.Pump.State == evidence.Running { // there is nothing left to look for
		r.Haste, err = w.Haste(nil)
	} else {
		list, err = r.explain(w)
	}
	r.Notes = append(r.Notes, r.notes(w.Case)...)
	return list, err
}

// explain works out the list of steps and, beside it, what is worth asking with
// how long it can wait, and how firm the answer is: each takes its third of the
// time and none needs another's result.
func (r *Report) explain(w *chances.Weighed) (*work.List, error) {
	asking, trying := w.Beside(), w.Beside()
	var beside sync.WaitGroup
	var askErr, firmErr error
	var doubt *chances.HasteDoubt
	beside.Go(func() {
		if r.Ask, askErr = asking.Questions(); askErr == nil {
			r.Haste, askErr = asking.Haste(r.Ask)
		}
	})
	beside.Go(func() { r.Firmness, doubt, firmErr = trying.Firmness() })
	list, err := work.Plan(w)
	beside.Wait()
	if err = cmp.Or(askErr, firmErr, err); err != nil {
		return nil, err
	}
	r.Haste.Doubt = doubt
	r.list(list)
	return list, nil
}

// list fills in the list of steps and what is known of it.
func (r *Report) list(l *work.List) {
	if l != nil {
		r.Steps, r.ExpectedMinutes, r.Order, r.NotInSteps, r.RunAgain, r.GoStraight = l.Steps, l.ExpectedMinutes, l.Order, l.NotFound, l.RunAgain, l.GoStraight
		r.Failure, r.Root, r.NotLooked, r.OutOfService = l.Failure, l.Root, l.NotLooked, l.OutOfService
	}
}

// lay lays a case over the book and tells what holds whatever is likely.
func lay(book *rules.Book, k *evidence.Case) (*chances.Model, *Report, error) {
	m, err := chances.Lay(book, k)
	r := header(m)
	r.Haste = m.HasteOfStops()
	return m, r, err
}

// header tells the pump, the book, and what holds whatever is likely.
func header(m *chances.Model) *Report {
	p, book := &m.Case.Pump, m.Book
	r := &Report{
		Schema:   ReportSchema,
		Rulebook: RulebookReport{Name: book.Name, Version: book.Version, Digest: book.Digest, Basis: basisLine, Local: LocalBook(book)},
		Pump: PumpReport{
			Name: p.Name, Action: string(p.Action), Cylinders: p.Cylinders, State: string(p.State), Rotation: string(p.Rotation),
			Liner: text(p.Liner), Stroke: text(p.Stroke), Speed: text(p.Speed), Discharge: text(p.Discharge),
			Open: []string{}, Recent: []string{},
		},
		Stop: m.ToldStops(), LeavePump: m.LeavePump(), OpenNothing: m.OpensNothing(), OutOfService: m.OutOfService(),
		Locks: work.Locks(m.Case), StaysOpen: work.StaysOpen(m.Case), Ratings: m.Measured.Ratings, Beside: m.TakenBeside(),
		Contradictions: chances.Contradictions(book, m.Case), Found: m.Findings(), Troubles: []chances.Trouble{}, Causes: []chances.Cause{}, Confirmed: []chances.Confirmed{},
		Unexplained: []chances.Unexplained{}, Groups: []chances.Group{}, Steps: []work.Step{}, NotLooked: []work.NotLooked{}, Ask: []chances.Question{}, Notes: []string{},
	}
	for _, at := range p.Open {
		r.Pump.Open = append(r.Pump.Open, chances.Titled(book.Openings.Get(at.ID).Title, at.Place))
	}
	for _, w := range m.Case.Recent {
		r.Pump.Recent = append(r.Pump.Recent, recentText(book, w))
	}
	return r
}

// LocalBook names the local book that was laid over the built-in one; nil if
// there is none.
func LocalBook(book *rules.Book) *LocalReport {
	if book.Local == nil {
		return nil
	}
	return &LocalReport{Name: book.Local.Name, Version: book.Local.Version, Digest: book.Local.Digest, Calls: book.Local.Calls}
}

func text(q *evidence.Quantity) string {
	if q == nil {
		return ""
	}
	return q.String()
}

// notes say what the answer is not, and how the case stands.
func (r *Report) notes(k *evidence.Case) []string {
	var out []string
	if len(r.Found) == 0 {
		out = append(out, noFinding)
	}
	hanging, others := 0, 0
	for i := range k.Locks {
		switch l := &k.Locks[i]; {
		case l.Hangs():
			hanging++
		case !strings.EqualFold(l.By, l.OffBy):
			others++
		}
	}
	if hanging > 0 && k.Pump.State == evidence.Running {
		out = append(out, fmt.Sprintf(locksOnRunning, hanging))
	}
	if others > 0 {
		out = append(out, fmt.Sprintf(locksByOthers, others))
	}
	if r.OpenNothing {
		out = append(out, nothingIsOpen)
	}
	if k.Pump.State == evidence.Isolated {
		out = append(out, saidIsolated)
	}
	if len(r.Confirmed) > 0 {
		out = append(out, r.whereItStands())
	}
	if len(r.NotLooked) > 0 {
		var titles []string
		for _, n := range r.NotLooked {
			titles = append(titles, chances.Titled(n.Title, n.Place))
		}
		out = append(out, fmt.Sprintf(notLooked, strings.Join(titles, "; ")))
	}
	if roots := r.rootsLeft(); len(roots) > 0 {
		out = append(out, fmt.Sprintf(rootsLeft, strings.Join(roots, "; ")))
	}
	return append(out, r.rootsLeftByCrew()...)
}

// rootsLeft names what may have brought on what was proved and was not looked at,
// each once; not where the crew says yes to that.
func (r *Report) rootsLeft() []string {
	var out []string
	for _, c := range r.Confirmed {
		for _, root := range c.RootsLeft {
			if title := chances.Titled(root.Title, root.Place); !c.RootLeft && !slices.Contains(out, title) {
				out = append(out, title)
			}
		}
	}
	return out
}

// rootsLeftByCrew says of each proved cause what the crew leaves unlooked at, with
// its chance.
func (r *Report) rootsLeftByCrew() []string {
	var out []string
	for _, c := range r.Confirmed {
		var roots []string
		for _, root := range c.RootsLeft {
			roots = append(roots, fmt.Sprintf(rootWithChance, chances.Titled(root.Title, root.Place), inFives(root.Probability)))
		}
		if c.RootLeft && len(roots) > 0 {
			out = append(out, fmt.Sprintf(leftByCrew, chances.Titled(c.Title, c.Place), strings.Join(roots, "; ")))
		}
	}
	return out
}

// inFives is a chance in per cent, to the next 5 between 5 and 95.
func inFives(p float64) int { return 5 * min(19, max(1, int(math.Round(20*p)))) }

// whereItStands says what is left to do about what was proved.
func (r *Report) whereItStands() string {
	corrected, again := 0, 0
	for _, c := range r.Confirmed {
		if c.Corrected {
			corrected++
		}
		if c.LookedAgain {
			again++
		}
	}
	proved := len(r.Confirmed)
	switch {
	case r.Closed && r.Pump.State == string(evidence.Running):
		return caseClosed
	case again == proved && r.OutOfService:
		return keptOut
	case r.settled:
		return onlyCloseUp
	case again == proved && len(r.Unexplained) == 0:
		return lookAtRoots
	case again == proved:
		return lookAtTheRest
	case corrected == proved:
		return fmt.Sprintf(lookAgain, corrected)
	}
	return fmt.Sprintf(correctFirst, proved, corrected)
}
