package dialogue

import (
	"fmt"
	"strings"

	"telltale/cmd/internal/prompt"
	"telltale/cmd/internal/words"
	"telltale/engine/chances"
	"telltale/engine/interview"
	"telltale/evidence"
	"telltale/evidence/record"
)

// What brought a proved failure on, and what a proved root has probably spoilt.

// toldRoots says what failed, and what probably brought it on.
func (r *round) toldRoots(at evidence.At, roots []chances.Root) []prompt.Line {
	out := prompt.Lines(prompt.Text, "What failed: "+r.causeAt(at)+" ("+words.Proved+").", "What may have brought it on, and nobody has looked at:")
	return append(out, prompt.Lines(prompt.Item, words.Roots(roots)...)...)
}

// toldSpoilt says what a proved root has probably spoilt.
func toldSpoilt(spoilt []chances.Told) []prompt.Line {
	if len(spoilt) == 0 {
		return nil
	}
	var names []string
	for _, c := range spoilt[:min(len(spoilt), mostLeading)] {
		names = append(names, words.Titled(c.Title, c.Place)+" ("+words.Likely(c.Probability)+")")
	}
	return prompt.Lines(prompt.Below, "It has probably spoilt: "+strings.Join(names, "; ")+".")
}

// root offers the look that tells most of what brought on what was proved. Of what is corrected already it asks for the crew's
// yes where the look is not done.
func (r *round) root(m *interview.Move) turn {
	p := prompt.Prompt{
		ID: interview.RootKey(m.Cause), About: about("cause", m.Cause.ID, m.Cause.Place),
		Body: append(prompt.Lines(prompt.Head, "what failed, and its root"), r.toldRoots(m.Cause, m.Roots)...), Ask: "What now?",
	}
	look := m.Step.ID != ""
	if look {
		p.About = append(p.About, about("check", m.Step.ID, m.Step.Place)...)
		p.Ask = fmt.Sprintf("One look tells most: %s (%s). Look now?", words.Titled(m.Step.Title, m.Step.Place), words.Minutes(m.Step.Minutes))
		p.Options = append(p.Options, option("look", "yes; what makes it safe and what must be open still comes first"))
	}
	corrected := chances.Among(r.k.Corrected, m.Cause.ID, m.Cause.Place)
	if corrected {
		p.Body = append(p.Body, prompt.Line{Kind: prompt.Text, Text: words.Unlooked(r.causeAt(m.Cause), m.Roots)})
		p.Options = append(p.Options, leaveRoot, option("later", "later; the case stays open for it"))
	} else {
		p.Options = append(p.Options, option("later", "not yet; the repair first"))
	}
	p.Options = append(p.Options, option("not-proved", "it is not proved after all"), aside("report", "report something"))
	return ask(p, func(id string) turn {
		switch id {
		case "look":
			return keep(func(s *interview.Sitting) { s.Toward = interview.StepKey(m.Step) })
		case leaveRoot.ID:
			return write(r.rootLeft(m.Cause, m.Roots)...)
		case "not-proved":
			return r.notProved(m.Cause)
		case "report":
			return r.report()
		}
		return decline(interview.RootKey(m.Cause))
	})
}

var leaveRoot = option("leave", "leave it; the crew says yes to that")

// rootLeft notes the crew's yes, with what it leaves.
func (r *round) rootLeft(at evidence.At, roots []chances.Root) []record.Edit {
	return []record.Edit{
		record.LeaveRoot(at.ID, named(at.Place)...),
		r.log("left unlooked at, behind " + r.causeAt(at) + ": " + strings.Join(words.Roots(roots), "; ")),
	}
}

// notProved takes a proof back.
func (r *round) notProved(at evidence.At) turn { return write(r.unproved(at)...) }

func (r *round) unproved(at evidence.At) []record.Edit {
	return []record.Edit{record.Unconfirm(at.ID, named(at.Place)...), r.log("not proved after all: " + r.causeAt(at))}
}

// corrected notes that a proved cause is put right. Where nobody looked at what may
// have brought it on, that is looked at first, or the crew says yes to leaving it.
func (r *round) corrected(m *interview.Move, how string) turn {
	over := func(s *State) { s.Sitting.Repairing, s.Sitting.ToOpen = false, nil }
	edits := []record.Edit{record.Corrected(m.Cause.ID, named(m.Cause.Place)...), r.log(how + ": " + r.causeAt(m.Cause))}
	roots := interview.RootsLeft(m.Report, m.Cause)
	if len(roots) == 0 {
		return writeThen(over, edits...)
	}
	p := prompt.Prompt{
		ID: "unlooked " + m.Cause.ID + " " + m.Cause.Place.String(), About: about("cause", m.Cause.ID, m.Cause.Place),
		Body: prompt.Lines(prompt.Block, words.Unlooked(r.causeAt(m.Cause), roots)), Ask: "What now?", Back: backBare,
	}
	step, look := interview.RootLook(r.Book, r.k, r.s.Sitting, m.Report, m.Cause)
	if look {
		p.Options = append(p.Options, option("look", "look now, before it is closed up: "+words.Titled(step.Title, step.Place)))
	} else {
		p.Body = append(p.Body, prompt.Line{Kind: prompt.Below, Text: "No look of the rulebook that was not put off tells more now."})
	}
	p.Options = append(p.Options, leaveRoot)
	return ask(p, func(id string) turn {
		if id == "look" {
			return prompt.End(end{edits: []record.Edit{r.log("put right, its root is looked at first: " + r.causeAt(m.Cause))}, note: func(s *State) {
				over(s)
				s.Sitting.Toward = interview.StepKey(step)
				delete(s.Sitting.Declined, interview.RootKey(m.Cause))
			}})
		}
		return writeThen(over, append(edits, r.rootLeft(m.Cause, roots)...)...)
	})
}
