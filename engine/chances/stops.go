package chances

import (
	"cmp"
	"slices"
	"strings"

	"telltale/evidence"
	"telltale/rules"
)

// Stop is a stop condition that holds.
type Stop struct {
	ID     string   `json:"id"`
	Signal string   `json:"signal"`
	By     string   `json:"by"` // at-once, next-safe-moment
	Title  string   `json:"title"`
	Do     []string `json:"do"`
	// FromLocal: it, or something of it, comes from the local book.
	FromLocal bool `json:"from_local,omitempty"`
}

// Stops gives the stop conditions that hold, the gravest first. Of one signal the
// pump that must be left comes first, then what must not be opened, then what is
// done at once; of these the built-in book's before the local one's.
func (m *Model) Stops() []*rules.Stop {
	if m.stops != nil {
		return m.stops
	}
	m.stops = []*rules.Stop{}
	standing := m.standing()
	for _, s := range m.Book.Stops.List {
		if s.When.Holds(standing(s), m.Book) {
			m.stops = append(m.stops, s)
		}
	}
	slices.SortStableFunc(m.stops, func(a, b *rules.Stop) int {
		return cmp.Or(slices.Index(rules.Signals(), string(a.Signal))-slices.Index(rules.Signals(), string(b.Signal)), urgency(a)-urgency(b))
	})
	return m.stops
}

// urgency is the smaller the sooner a stop is read.
func urgency(s *rules.Stop) int {
	switch {
	case s.LeavePump:
		return 0
	case s.OpenNothing: // the pump is open, or about to be opened
		return 1
	case s.By == rules.AtOnce:
		return 2
	}
	return 3
}

func (m *Model) anyStop(of func(s *rules.Stop) bool) bool {
	return slices.ContainsFunc(m.Stops(), of)
}

// LeavePump says whether a stop condition demands that the pump waits.
func (m *Model) LeavePump() bool { return m.anyStop(func(s *rules.Stop) bool { return s.LeavePump }) }

// OpensNothing says whether a stop condition holds every opening back.
func (m *Model) OpensNothing() bool {
	return m.anyStop(func(s *rules.Stop) bool { return s.OpenNothing })
}

// OutOfService says whether a stop condition keeps the pump from running again.
func (m *Model) OutOfService() bool {
	return m.anyStop(func(s *rules.Stop) bool { return s.OutOfService })
}

// StopsAtOnce says whether the pump runs and one of the stop conditions stops
// it at once.
func (m *Model) StopsAtOnce() bool {
	return m.Case.Pump.State == evidence.Running && m.anyStop(func(s *rules.Stop) bool { return s.StopPump && s.By == rules.AtOnce })
}

// RunningAllowed says whether anything may be looked at on the running pump.
func (m *Model) RunningAllowed() bool {
	return m.Case.Pump.State == evidence.Running && !m.anyStop(func(s *rules.Stop) bool { return s.StopPump || s.LeavePump })
}

// PowerAllowed says whether anything may be looked at with power on.
func (m *Model) PowerAllowed() bool {
	return m.Case.Pump.State != evidence.Isolated && !m.anyStop(func(s *rules.Stop) bool { return s.PowerOff || s.LeavePump })
}

// ToldStops tells the stop conditions that hold. Under one that leaves the pump the
// others say only what comes first: nothing is bled, bumped or looked at meanwhile.
func (m *Model) ToldStops() []Stop {
	out := []Stop{}
	leave := m.LeavePump()
	for _, stop := range m.Stops() {
		s := Stop{ID: stop.ID, Signal: string(stop.Signal), By: string(stop.By), Title: m.stopTitle(stop), Do: m.stopDo(stop), FromLocal: stop.FromLocal}
		if m.raisedByLocal(stop) {
			s.Title, s.FromLocal = s.Title+rules.RaisedByLocal, true
		}
		if leave && !stop.LeavePump {
			s.Do = s.Do[:1]
		}
		out = append(out, s)
	}
	return out
}

// raisedByLocal says whether a stop of the built-in book holds by the condition
// of the local book alone.
func (m *Model) raisedByLocal(stop *rules.Stop) bool {
	return !stop.When.HoldsAlone(m.standing()(stop), m.Book)
}

// stopTitle is the title of a stop condition with the figures of the ratings
// that it asks about and that the pump is past.
func (m *Model) stopTitle(s *rules.Stop) string {
	title := m.Fill(s.Title)
	var figures []string
	for _, past := range m.Case.Past {
		if s.When.AsksRating(past.ID) {
			figures = append(figures, past.Words)
		}
	}
	if len(figures) == 0 {
		return title
	}
	return title + ": " + strings.Join(figures, "; ")
}

// stopDo gives the words of a stop condition, as the pump stands; where it is about
// what was taken beside moving parts, they end with what that is. What another job says
// stands behind the first line.
func (m *Model) stopDo(stop *rules.Stop) []string {
	out := m.FillAll(stop.Do)
	if stop.Standing != "" && m.Case.Pump.State != evidence.Running {
		out[0] = m.Fill(stop.Standing)
	}
	if stop.When.AsksOthers() {
		var say []string
		for i := range m.Case.Others {
			if o := &m.Case.Others[i]; o.Holds() {
				say = append(say, OtherSays(m.Book, o))
			}
		}
		out = slices.Insert(out, 1, say...)
	}
	if !stop.When.AsksBeside() {
		return out
	}
	var titles []string
	for _, b := range m.TakenBeside() {
		title := b.Title
		if !strings.Contains(title, b.Name) {
			title += " (" + b.Name + ")"
		}
		titles = append(titles, title)
	}
	return append(out, notUsed+strings.Join(titles, "; ")+".")
}

// A stop condition is over once what raised it was corrected and was right when
// it was looked at again: the sign in the case is from before. Safety steps,
// openings and the return to service go on hearing all that the case says.

// standing gives the case that a stop condition is held against: without causes
// that were put right, and without the signs that they account for. A stop that
// leaves the pump to the well hears each sign until it is answered, and one that
// hears what was taken beside moving parts hears the whole case. A local book's
// causes end no stop of the built-in book.
// It is worked out once for all stops
// that hear it alike.
func (m *Model) standing() func(stop *rules.Stop) *evidence.Case {
	type hears struct {
		book  *rules.Book
		leave bool
	}
	heard := map[hears]*evidence.Case{}
	return func(stop *rules.Stop) *evidence.Case {
		if len(m.Case.LookedAgain) == 0 || stop.When.AsksBeside() {
			return m.Case
		}
		h := hears{m.Book, stop.LeavePump}
		if under := m.Book.Under; under != nil && under.Stops.Get(stop.ID) != nil {
			h.book = under
		}
		if heard[h] == nil {
			heard[h] = m.standingBy(h.book, h.leave)
		}
		return heard[h]
	}
}

// standingBy is the case as the stops of a book hear it that leave the pump to the well, or
// do not.
func (m *Model) standingBy(book *rules.Book, leave bool) *evidence.Case {
	right := func(at evidence.At) bool {
		return Among(m.Case.LookedAgain, at.ID, at.Place) && book.Causes.Get(at.ID) != nil
	}
	out := *m.Case
	out.Confirmed = slices.DeleteFunc(slices.Clone(m.Case.Confirmed), right)
	if leave {
		return &out
	}
	done := slices.DeleteFunc(slices.Clone(m.Case.Confirmed), func(at evidence.At) bool { return !right(at) })
	out.Findings = slices.DeleteFunc(slices.Clone(m.Case.Findings), func(f evidence.Finding) bool {
		return f.Answer == evidence.Present && accountsFor(book, m.Case, done, f) && !accountsFor(m.Book, m.Case, out.Confirmed, f)
	})
	return &out
}

// accountsFor says whether one of the causes shows a finding, of its kind, where
// it was seen.
func accountsFor(book *rules.Book, k *evidence.Case, causes []evidence.At, f evidence.Finding) bool {
	return slices.ContainsFunc(causes, func(at evidence.At) bool {
		return slices.ContainsFunc(f.Over, at.Place.Touches) && book.Causes.Get(at.ID).CanShow(f.Sign, f.Kind, k, book)
	})
}

// SeenAgain gives what was right when it was looked at again and accounts for a
// sign that is there now, of this kind if one is named, at the places; at all of
// them when none is named. It is not put right.
func SeenAgain(book *rules.Book, k *evidence.Case, sign, kind string, places []evidence.Place) []evidence.At {
	return slices.DeleteFunc(slices.Clone(k.LookedAgain), func(at evidence.At) bool {
		here := len(places) == 0 || slices.ContainsFunc(places, at.Place.Touches)
		return !here || !book.Causes.Get(at.ID).CanShow(sign, kind, k, book)
	})
}
