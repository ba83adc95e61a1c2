package pages

import (
	"fmt"
	"path/filepath"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/words"
	"telltale/engine/upkeep"
	"telltale/engine/work"
	"telltale/rules"
)

// PlannedStop is what one crew does on the pumps of a rig in one planned stop.
func PlannedStop(s *upkeep.Stop, book *rules.Book) *doc.Document {
	d := &doc.Document{
		Title: fmt.Sprintf("Planned stop of %g h, %s", s.Hours, filepath.Base(s.Dir)),
		Lines: []string{
			fmt.Sprintf("On %s, for one crew. Planned: %s of %g h, opening, closing and return to service in it.", s.Day, hoursOf(s.Minutes), s.Hours),
			Govern,
		},
	}
	for i := range s.Pumps {
		p := &s.Pumps[i]
		d.Add(doc.Section{Heading: "Stop first: " + p.Title, Panel: true, Parts: stopParts(p.Stops, doc.NoBox, "")})
	}
	d.Add(
		doc.Section{Heading: "What is done", Parts: tasksByPump(s)}, stopAtHand(s),
	)
	for i := range s.Pumps {
		p := &s.Pumps[i]
		d.Add(doc.Section{Heading: fmt.Sprintf("%s: %s", p.Title, hoursOf(p.Minutes)), Parts: stopSteps(p, book)})
	}
	d.Add(
		doc.Section{Heading: "What does not fit", Parts: []doc.Part{notNow(s)}},
		doc.Section{Heading: "What cannot be done as the pump stands", Parts: []doc.Part{{Items: doc.Each(s.Cannot, func(t upkeep.Task) doc.Item {
			return doc.Item{Strong: t.Pump + ":", Text: words.Titled(t.Title, t.Place) + ": " + t.Why + "."}
		})}}},
		doc.Section{Heading: "Due, for somebody else to arrange", Parts: []doc.Part{{Items: doc.Each(s.Arrange, func(t upkeep.Task) doc.Item {
			return doc.Item{Strong: t.Pump + ":", Text: words.Titled(t.Title, t.Place) + ": " + dueWhen(t.Due) + "."}
		})}}},
		doc.Section{Heading: "What is wanted for more", Parts: []doc.Part{{Items: doc.Each(s.Missing, func(w upkeep.PumpWants) doc.Item {
			return doc.Item{Strong: w.Title + ":", Text: strings.Join(w.Wants, "; ") + "."}
		})}}},
		filesUnread(s.Unread),
		notes("Isolate each pump by the site's procedure before anything is opened on it; each hangs his own lock.", "Minutes are judged, and those of a repair go with the parts that it likely takes. What is found may take longer.",
			"The pumps are taken one after the other, by one crew. Looks at a running pump come before its stop and are counted."),
	)
	return d
}

// hoursOf is a long time in hours and minutes.
func hoursOf(minutes float64) string {
	m := int(minutes + 0.5)
	if m < 60 {
		return fmt.Sprintf("%d min", m)
	}
	return fmt.Sprintf("%d h %02d min", m/60, m%60)
}

// tasksByPump lists what is done, pump by pump, in the order in which it was chosen.
func tasksByPump(s *upkeep.Stop) []doc.Part {
	var out []doc.Part
	for _, p := range s.Pumps {
		part := doc.Part{Head: p.Title + ", " + p.State, Text: doc.Said(allNamed("Open already: ", "opening", p.Open...).Text)}
		for _, t := range p.Tasks {
			part.Items = append(part.Items, doc.Item{
				Box: doc.ToTick, Text: words.Titled(t.Title, t.Place) + ": " + taskWhen(t) + "; " + hoursOf(t.Minutes) + " more" + doc.If(t.Fills, "; fills the hours that are left") + "." +
					doc.If(t.Kind == upkeep.DueFind, " What it finds is put right before the pump is closed; that is not in these hours."),
			})
		}
		if len(p.Tasks) > 0 {
			out = append(out, part)
		}
	}
	if len(out) == 0 {
		out = append(out, doc.Text("Nothing that is due goes into these hours."))
	}
	return out
}

// taskWhen says since when or by when something is wanted.
func taskWhen(t upkeep.Task) string {
	switch t.Kind {
	case upkeep.DueRepair, upkeep.DueFind:
		return t.Because
	}
	return dueWhen(t.Due)
}

// stopAtHand lists tools and parts for the whole stop.
func stopAtHand(s *upkeep.Stop) doc.Section {
	part := doc.Part{}
	if len(s.Tools) > 0 {
		part.Items = append(part.Items, doc.Item{Strong: "Tools:", Text: strings.Join(s.Tools, ", ") + "."})
	}
	for _, p := range s.Parts {
		text := p.Title
		if at := words.Places(p.Places, " and "); at != "" {
			text += ", " + at
		}
		text += " (" + p.Pump + doc.If(p.Chance < 1, ", "+words.Likely(p.Chance)) + ")"
		part.Items = append(part.Items, doc.Item{Box: doc.ToTick, Strong: "Part:", Text: text})
	}
	return doc.Section{Heading: "Have at hand", Parts: []doc.Part{part}}
}

// stopSteps are the steps on one pump. The steps of the isolation have no words of their
// own where the site's procedure has them.
func stopSteps(p *upkeep.PumpStop, book *rules.Book) []doc.Part {
	said := map[string]int{}
	return doc.Each(p.Steps, func(x upkeep.StopStep) doc.Part {
		step := &doc.Step{Number: x.Number, Tick: true, Signal: x.Signal, Title: words.Titled(x.Title, x.Place), To: entryOf(x.Kind, x.ID, x.Title), Do: x.Do, Notes: doc.Said(doc.If(x.Minutes > 0, words.Minutes(x.Minutes)))}
		if safety := book.Safety.Get(x.ID); x.Kind == work.StepSafety && (safety.For == rules.ForStopping || safety.For == rules.ForIsolation) {
			step.Do = ""
		}
		if before := said[x.Kind+x.ID]; before > 0 && x.Kind != work.StepSafety {
			step.Do = fmt.Sprintf("As step %d.", before)
		} else {
			said[x.Kind+x.ID] = x.Number
		}
		return doc.Part{Step: step}
	})
}

// notNow lists what does not fit, and when it is due.
func notNow(s *upkeep.Stop) doc.Part {
	return doc.Part{Items: doc.Each(s.NotNow, func(t upkeep.Task) doc.Item {
		return doc.Item{Strong: doc.If(t.Must, "Must be done. ") + t.Pump + ":", Text: words.Titled(t.Title, t.Place) + ": " + taskWhen(t) + "; " + hoursOf(t.Minutes) + " more."}
	})}
}

func filesUnread(all []upkeep.Unread) doc.Section {
	return doc.Section{Heading: "Files that cannot be used", Parts: []doc.Part{doc.List(doc.Each(all, func(u upkeep.Unread) string { return u.File + ": " + u.Why })...)}}
}
