package dialogue

import (
	"slices"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/prompt"
	"telltale/cmd/internal/words"
	"telltale/engine"
	"telltale/engine/chances"
	"telltale/evidence"
	"telltale/evidence/record"
)

// begin asks what a new case needs: the pump and how it stands, both at once; what
// was not said, or said twice, is asked by itself.
func (r *round) begin() turn {
	kinds := []prompt.Option{
		option(string(evidence.Triplex), "triplex, single-acting (three cylinders)"), option(string(evidence.Duplex), "duplex, double-acting (two cylinders)"),
	}
	var stands []prompt.Option
	for _, state := range evidence.PumpStates() {
		stands = append(stands, option(state, standsNow[evidence.PumpState(state)]))
	}
	both := prompt.Prompt{ID: "pump", Ask: "What pump is it, and how does it stand?", Options: slices.Concat(kinds, stands)}
	for i := range both.Options {
		both.Options[i].Together = true
	}
	chosen := func(ids []string, of []prompt.Option) []string {
		return doc.Only(ids, func(id string) bool {
			return slices.ContainsFunc(of, func(o prompt.Option) bool { return o.ID == id })
		})
	}
	return several(both, func(ids []string) turn {
		return one("kind", "What pump is it?", kinds, chosen(ids, kinds), func(action string) turn {
			named := func(name string) turn {
				return one("state", "How does it stand now?", stands, chosen(ids, stands), func(state string) turn {
					edits := []record.Edit{record.SetPump("action", action), record.SetPump("state", state)}
					if name != "" {
						edits = append(edits, record.SetPump("name", name))
					}
					return prompt.End(end{edits: edits, note: begun, final: true})
				})
			}
			if r.Name != "" {
				return named(r.Name)
			}
			return entry("name", "Its name?", "leaves it out", named)
		})
	})
}

// one takes the one answer that was given, else asks for it.
func one(id, question string, options []prompt.Option, given []string, take func(id string) turn) turn {
	if len(given) == 1 {
		return take(given[0])
	}
	return ask(prompt.Prompt{ID: id, Ask: question, Options: options}, take)
}

func begun(s *State) { s.Begun = true }

// takeUp says where an old case stands, and asks whether the pump still stands
// so. What is said to be isolated now was not isolated with this case: that is
// not offered.
func (r *round) takeUp(report *engine.Report) turn {
	p := prompt.Prompt{
		ID: "still " + string(r.k.Pump.State), Ask: "Does it still stand so?",
		Body:    r.handedOver(report),
		Options: []prompt.Option{option("yes", stillSo[r.k.Pump.State])},
	}
	for _, state := range []evidence.PumpState{evidence.Running, evidence.Stopped} {
		if state != r.k.Pump.State {
			p.Options = append(p.Options, option(string(state), "no, "+standsNow[state]))
		}
	}
	return ask(p, func(state string) turn {
		if state == "yes" {
			return prompt.End(end{note: begun, final: true})
		}
		if len(r.k.Pump.Open) > 0 {
			return r.closedMeanwhile(evidence.PumpState(state))
		}
		return writeThen(begun, record.SetPump("state", state), r.log(saidLog+standsNow[evidence.PumpState(state)]))
	})
}

// closedMeanwhile asks of a pump that is not isolated any more whether all was closed that
// stands open by its case. What was closed by others leaves steps back to service owed.
func (r *round) closedMeanwhile(state evidence.PumpState) turn {
	p := prompt.Prompt{
		ID: "closed " + string(state), Body: prompt.Lines(prompt.Text, "By the case this stands open:"),
		Ask: "Was each of these closed again?",
		Options: []prompt.Option{
			option("yes", "yes, each; seen by me, or by whoever closed it"),
			option("no", "no, or nobody knows"),
		},
	}
	edits := []record.Edit{}
	for _, at := range slices.Backward(r.k.Pump.Open) { // the inner ones stand last
		p.Body = append(p.Body, prompt.Line{Kind: prompt.Item, Text: words.Titled(r.Book.Openings.Get(at.ID).Title, at.Place)})
		edits = append(edits, record.Closed(at.ID, named(at.Place)...))
	}
	edits = append(edits, record.SetPump("state", string(state)), r.log(saidLog+standsNow[state]+", and all was closed again"))
	return ask(p, func(id string) turn {
		if id == "yes" {
			return writeThen(begun, edits...)
		}
		if state == evidence.Running {
			return say("Then it must not run. Keep everybody clear. Have the driller stop it from the console and lock it off. Nobody goes near it before that.")
		}
		return say("Then lock it off before anybody goes near it. Nothing is written yet.")
	})
}

var standsNow = map[evidence.PumpState]string{
	evidence.Running:  "it runs",
	evidence.Stopped:  "it is stopped",
	evidence.Isolated: "it is isolated: locked off, lines closed, pressure proved zero",
}

var stillSo = map[evidence.PumpState]string{
	evidence.Running:  "yes, it still runs",
	evidence.Stopped:  "yes, it is still stopped",
	evidence.Isolated: "yes, it is still isolated; before hands go in that is proved again",
}

// cannotWeigh lets the crew put right what makes the case impossible or too
// wide to be weighed; what was said stays in the file till then.
func (r *round) cannotWeigh(why error) turn {
	r.unfit = why
	words := "It goes no further like this: " + why.Error() + "."
	if chances.TooWide(why) {
		words = "It goes no further like this: too many signs hang together to be weighed exactly. Take back those that matter least, or say at which cylinder each is."
	}
	p := prompt.Prompt{
		ID: "impossible", Body: prompt.Lines(prompt.Text, words), Back: backWrong,
		Options: []prompt.Option{aside("report", "report or correct a sign")},
	}
	return ask(p, func(string) turn { return r.notice("Which sign?", "") })
}
