package dialogue

import (
	"slices"
	"strconv"

	"telltale/cmd/internal/pages"
	"telltale/cmd/internal/prompt"
	"telltale/cmd/internal/words"
	"telltale/engine/interview"
	"telltale/evidence"
	"telltale/evidence/record"
)

// A job whose cause no look has proved is closed with what the crew found, in its own
// words, and with the cause that it takes for it. Nothing is proved by that.

// closeID is the id of the offer to close a job as it is.
const closeID = "close-job"

// closeAsItIs offers to close an open job of a rig with what was found; none else.
func (r *round) closeAsItIs() []prompt.Option {
	if r.k.Job.Pump == "" || r.k.Job.IsClosed() {
		return nil
	}
	return []prompt.Option{aside(closeID, "close the job with what was found")}
}

// closeAsFound asks what was found and which cause it was, or says what stands against
// closing the job.
func (r *round) closeAsFound(m *interview.Move) turn {
	if why := pages.NotToClose(r.Book, m.Report, r.k); len(why) > 0 {
		return r.notYet(why)
	}
	return longEntry("found", "What was found? Tell it in your own words.", "says that nothing was found", func(found string) turn {
		c := closingJob{found: found}
		return r.whichJudged(m, func(judged []evidence.At) turn {
			c.judged = judged
			return longEntry("put-right", "What was put right? Tell it in your own words.", "says that nothing was put right", func(did string) turn {
				c.did = did
				return r.closeJob(c)
			})
		})
	})
}

func longEntry(id, question, blank string, take func(text string) turn) turn {
	t := entry(id, question, blank, take)
	t.Entry.Long = true
	return t
}

// notYet says what stands against closing, and offers the way back to service.
func (r *round) notYet(why []string) turn {
	p := prompt.Prompt{ID: "not-yet", Ask: "What now?", Options: []prompt.Option{option("on", "go on where it was")}}
	p.Body = itemised(notClosed, why)
	switch {
	case r.k.Pump.State == evidence.Isolated:
		p.Options = append([]prompt.Option{option("close-up", "close up and return to service")}, p.Options...)
	case r.k.Pump.State == evidence.Stopped && len(r.k.Pump.ClosedAgain) > 0:
		p.Options = append([]prompt.Option{option("close-up", "go on with the way back to service")}, p.Options...)
	}
	p.Options = append(p.Options, r.goneThrough()...)
	return ask(p, func(id string) turn {
		switch id {
		case "close-up":
			return keep(func(s *interview.Sitting) { s.Closing = true })
		case goneThroughID:
			return r.wentThrough()
		}
		return prompt.End(end{})
	})
}

// How many causes are offered to judge from, and from which chance: below it is almost no
// chance.
const (
	mostJudged  = 5
	leastJudged = 0.05
)

// whichJudged asks which cause the crew takes for it.
func (r *round) whichJudged(m *interview.Move, take func([]evidence.At) turn) turn {
	p := prompt.Prompt{
		ID: "judged", Ask: "Which cause do you take for it?",
		Body: prompt.Lines(prompt.Text, "It is written as judged, not as proved."),
	}
	offered := map[string]evidence.At{}
	for _, c := range m.Report.Causes {
		at := evidence.At{ID: c.Cause, Place: c.Place}
		if len(offered) == mostJudged || c.Probability < leastJudged || hasAt(r.k.RuledOut, at) || hasAt(r.k.Confirmed, at) {
			continue
		}
		o := option("cause "+strconv.Itoa(len(offered)+1), r.causeAt(at))
		o.About = &about("cause", at.ID, at.Place)[0]
		offered[o.ID], p.Options = at, append(p.Options, o)
	}
	p.Options = append(p.Options, aside("other", "another cause"), aside("unknown", "none; the words alone are written"))
	return ask(p, func(id string) turn {
		switch at, ok := offered[id]; {
		case ok:
			return take([]evidence.At{at})
		case id == "other":
			return r.otherCause(func(at evidence.At) turn { return take([]evidence.At{at}) })
		}
		return take(nil)
	})
}

// otherCause asks for a cause of all that the pump can have, and where.
func (r *round) otherCause(take func(evidence.At) turn) turn {
	var all []prompt.Option
	for _, c := range r.Book.Causes.List {
		if c.When.HoldsForPump(&r.k.Pump) {
			all = append(all, option(c.ID, c.Title))
		}
	}
	return oneOfMany("cause", "", all, func(id string) turn {
		cause := r.Book.Causes.Get(id)
		places := slices.DeleteFunc(r.k.Pump.Places(cause.Level), func(at evidence.Place) bool {
			return hasAt(r.k.RuledOut, evidence.At{ID: cause.ID, Place: at})
		})
		if len(places) == 0 {
			t := r.otherCause(take)
			t.News = prompt.Lines(prompt.Text, "That is ruled out: "+cause.Title+".")
			return t
		}
		if len(places) == 1 {
			return take(evidence.At{ID: cause.ID, Place: places[0]})
		}
		where := prompt.Prompt{ID: "where " + cause.ID, About: about("cause", cause.ID, places...), Ask: "Where?"}
		for _, at := range places {
			where.Options = append(where.Options, placeOption(at, false))
		}
		return ask(where, func(id string) turn {
			i := slices.IndexFunc(places, func(at evidence.Place) bool { return placeID(at) == id })
			return take(evidence.At{ID: cause.ID, Place: places[i]})
		})
	})
}

// edits are what was found and judged on the job, and what was put right.
func (c *closingJob) edits(r *round) []record.Edit {
	var out []record.Edit
	if c.found != "" {
		out = append(out, record.SetJob(record.JobFound, c.found))
	}
	for _, at := range c.judged {
		out = append(out, record.Judge(at.ID, named(at.Place)...), r.log("judged, not proved: "+words.Titled(r.Book.Causes.Get(at.ID).Title, at.Place)))
	}
	if c.did != "" {
		out = append(out, r.log("put right: "+c.did))
	}
	return out
}
