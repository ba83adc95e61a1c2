package dialogue

import (
	"errors"
	"slices"
	"strconv"
	"strings"

	"telltale/cmd/internal/talk"
	"telltale/cmd/internal/words"
	"telltale/engine/interview"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/rules"
)

// ask puts the question that tells most.
func (d *Dialogue) ask(k *evidence.Case, m *interview.Move) error {
	written := len(d.before)
	if err := d.answer(k, m.Sign, m.Places, m); err != nil {
		return err
	}
	if len(d.before) > written {
		d.sitting.InARow++
	}
	return nil
}

// answer takes the answer to one sign: where it shows, of what kind, and what
// of the others. m is nil when the crew reported the sign by itself.
func (d *Dialogue) answer(k *evidence.Case, s *rules.Sign, places []evidence.Place, m *interview.Move) error {
	if err := d.standing(m); err != nil {
		return err
	}
	if err := d.term.Gap(); err != nil {
		return err
	}
	text := d.fill(k, s.Ask)
	if len(places) == 1 && places[0] != (evidence.Place{}) {
		title := placeTitle(places[0])
		text = strings.ToUpper(title[:1]) + title[1:] + ": " + text
	}
	if err := d.term.Say(0, text); err != nil {
		return err
	}
	if s.Tell != "" {
		if err := d.term.Say(2, d.fill(k, s.Tell)); err != nil {
			return err
		}
	}
	if len(places) == 1 {
		return d.answerHere(k, s, places[0], m)
	}
	return d.answerWhere(k, s, places, m)
}

// extras are what can be said instead of an answer.
func extras(m *interview.Move) []talk.Option {
	out := []talk.Option{{Key: "d", Text: "don't know, did not look"}}
	if m != nil {
		out = append(out, talk.Option{Key: "w", Text: "why do you ask?"}, talk.Option{Key: "r", Text: "report something else"}, talk.Option{Key: "s", Text: "no more questions; go on with the steps"})
	}
	return append(out, talk.Option{Key: "b", Text: "back to the last answer"}, talk.Option{Key: "q", Text: "leave"})
}

// extra does what an extra option asks for.
func (d *Dialogue) extra(k *evidence.Case, key string, s *rules.Sign, places []evidence.Place, m *interview.Move) error {
	switch key {
	case "d":
		return d.write(d.findings(s, "unknown", places)...)
	case "w":
		return d.why(m)
	case "r":
		return d.report(k, "What else was noticed?")
	case "s":
		d.remember()
		for _, q := range m.Report.Ask {
			d.sitting.Declined[interview.SignKey(q.Sign)] = true
		}
		return nil
	case "b":
		return errBack
	}
	return errLeave
}

func (d *Dialogue) findings(s *rules.Sign, answer string, places []evidence.Place) []record.Edit {
	if s.Level == evidence.OfPump {
		return []record.Edit{record.SetFinding(s.ID, answer)}
	}
	return []record.Edit{record.SetFinding(s.ID, answer, places...)}
}

// kinds are the answers of a sign with their words.
func kinds(s *rules.Sign) (answers []string, options []talk.Option) {
	for _, kind := range s.Kinds {
		answers, options = append(answers, kind.ID), append(options, talk.Option{Text: kind.Title})
	}
	return append(answers, "present"), append(options, talk.Option{Text: "I cannot say which"})
}

// answerHere asks at one place: of what kind, or not at all.
func (d *Dialogue) answerHere(k *evidence.Case, s *rules.Sign, place evidence.Place, m *interview.Move) error {
	answers, options := []string{"present", "absent"}, []talk.Option{{Text: "yes"}, {Text: "no"}}
	if len(s.Kinds) > 0 {
		answers, options = kinds(s)
		options[len(options)-1].Text = "one of these, but I cannot say which"
		answers, options = append(answers, "absent"), append(options, talk.Option{Text: "no, none of these"})
	}
	options = append(options, extras(m)...)
	i, err := d.term.Choose("", options)
	if err != nil {
		return err
	}
	if i >= len(answers) {
		return d.extra(k, options[i].Key, s, []evidence.Place{place}, m)
	}
	return d.write(d.findings(s, answers[i], []evidence.Place{place})...)
}

// answerWhere asks which of several places show the sign, of what kind, and
// whether the others do not.
func (d *Dialogue) answerWhere(k *evidence.Case, s *rules.Sign, places []evidence.Place, m *interview.Move) error {
	places = inOrder(k, s, places)
	options := placeOptions(places)
	options = append(options, talk.Option{Key: "n", Text: "none of them"}, talk.Option{Key: "a", Text: "all of them"})
	if len(places) == len(k.Pump.Places(s.Level)) {
		options = append(options, talk.Option{Key: "e", Text: "it is there, but I cannot say where"})
	}
	options = append(options, extras(m)...)
	for {
		chosen, err := d.term.Several("Where? (several numbers with blanks between)", options)
		if err != nil {
			return err
		}
		switch key := options[chosen[0]].Key; key {
		case "":
			err = d.answerKinds(s, pick(places, chosen), rest(places, chosen))
		case "n":
			return d.write(d.findings(s, "absent", places)...)
		case "a":
			err = d.answerKinds(s, places, nil)
		case "e":
			err = d.answerSomewhere(s)
		default:
			return d.extra(k, key, s, places, m)
		}
		if !errors.Is(err, errBack) {
			return err
		}
	}
}

// inOrder puts places in the order of the pump.
func inOrder(k *evidence.Case, s *rules.Sign, places []evidence.Place) []evidence.Place {
	var out []evidence.Place
	for _, p := range k.Pump.Places(s.Level) {
		if slices.Contains(places, p) {
			out = append(out, p)
		}
	}
	return out
}

// placeOptions offers places; cylinders that are numbered are typed by their
// own numbers.
func placeOptions(places []evidence.Place) []talk.Option {
	var out []talk.Option
	own := true
	for _, p := range places {
		_, err := strconv.Atoi(p.String())
		own = own && err == nil
	}
	for _, p := range places {
		o := talk.Option{Text: placeTitle(p)}
		if own {
			o.Label = p.String()
		}
		out = append(out, o)
	}
	return out
}

func placeTitle(p evidence.Place) string {
	return strings.TrimPrefix(words.Titled("", p), ", ")
}

func pick(places []evidence.Place, chosen []int) []evidence.Place {
	var out []evidence.Place
	for _, i := range chosen {
		out = append(out, places[i])
	}
	return out
}

func rest(places []evidence.Place, chosen []int) []evidence.Place {
	taken := map[int]bool{}
	for _, i := range chosen {
		taken[i] = true
	}
	var out []evidence.Place
	for i, p := range places {
		if !taken[i] {
			out = append(out, p)
		}
	}
	return out
}

// answerKinds asks for the kind at each place that shows the sign, then for the
// others, and writes all of it as one answer. If what was said calls for a stop
// it asks no further: the stop comes first.
func (d *Dialogue) answerKinds(s *rules.Sign, showing, others []evidence.Place) error {
	var changes []record.Edit
	one := ""
	if len(s.Kinds) > 0 && len(showing) > 1 {
		answers, options := kinds(s)
		i, err := d.choose("At "+placeList(showing)+", how?", append(options, talk.Option{Text: "not the same at each"}))
		if err != nil {
			return err
		}
		if i < len(answers) {
			one = answers[i]
		}
	}
	for _, p := range showing {
		answer := "present"
		switch {
		case one != "":
			answer = one
		case len(s.Kinds) > 0:
			answers, options := kinds(s)
			i, err := d.choose("At "+placeTitle(p)+", how?", options)
			if err != nil {
				return err
			}
			answer = answers[i]
		}
		changes = append(changes, d.findings(s, answer, []evidence.Place{p})...)
		if d.stops(changes) {
			return d.write(changes...)
		}
	}
	if len(others) > 0 {
		i, err := d.choose("And the others ("+placeList(others)+")?", []talk.Option{{Text: "they do not show it"}, {Text: "nobody looked"}})
		if err != nil {
			return err
		}
		changes = append(changes, d.findings(s, []string{"absent", "unknown"}[i], others)...)
	}
	return d.write(changes...)
}

// stops says whether the case with these changes calls for a stop that was not
// read out yet.
func (d *Dialogue) stops(changes []record.Edit) bool {
	_, k, err := record.Apply(d.file.Name(), d.file.Text(), d.book.Vocabulary(), changes...)
	return err == nil && slices.ContainsFunc(d.book.Stops.List, func(s *rules.Stop) bool {
		return !d.sitting.Read[s.ID] && s.When.Holds(k, d.book)
	})
}

// answerSomewhere notes that the sign is there, of what kind, but not where.
func (d *Dialogue) answerSomewhere(s *rules.Sign) error {
	answer := "present"
	if len(s.Kinds) > 0 {
		answers, options := kinds(s)
		i, err := d.choose("How?", options)
		if err != nil {
			return err
		}
		answer = answers[i]
	}
	return d.write(record.SetFinding(s.ID, answer))
}

func placeList(places []evidence.Place) string {
	var names []string
	for _, p := range places {
		names = append(names, p.String())
	}
	return strings.Join(names, ", ")
}
