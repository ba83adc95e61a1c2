package pages

import (
	"fmt"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/words"
	"telltale/engine"
	"telltale/engine/chances"
	"telltale/engine/work"
	"telltale/evidence"
)

// How much of each stands on the one page that hands a pump over; the job has the rest.
const (
	mostHandedFound = 8
	mostHandedDone  = 6
	mostHandedLog   = 6
	longLogLine     = 120 // letters
)

// HandOver is the one page for a change of tour: the stop conditions and how long it can
// wait, what hangs and stands open, what was done, found and proved, what comes next, whom
// to tell, and the names to sign.
func HandOver(in Input) *doc.Document {
	j, r := jobSheet{in}, in.Plan.Report
	d := in.begin("HAND-OVER. ", r)
	first := stops(r)
	if r.Haste != nil {
		if len(first.Parts) == 0 {
			first.Heading = "Before anything else"
		}
		first.Parts = append(first.Parts, doc.Text(HasteLine(r.Haste)))
	}
	d.Add(
		first,
		doc.Section{Heading: "Locked and open now", Parts: []doc.Part{j.standsNow()}},
		doc.Section{Heading: "Found and proved", Parts: []doc.Part{doc.List(append(doc.Said(j.likeliest()), j.foundNow()...)...)}},
		doc.Section{Heading: "Done", Parts: []doc.Part{doc.List(j.doneSoFar()...)}},
		doc.Section{Heading: "What comes next", Parts: []doc.Part{doc.List(j.next()...)}},
		doc.Section{Heading: "Names", Keep: true, Parts: []doc.Part{{Blanks: []doc.Blank{
			{Label: "Left half done, turned, parts used:"}, {Label: "Handed over by, time:"}, {Label: "Taken over by, time:"}, {Label: "In charge of the permit:"},
		}}}},
	)
	return d
}

// standsNow is what hangs and stands open. None of it is left out.
func (j *jobSheet) standsNow() doc.Part {
	var hang, off, bleeds []string
	for _, l := range j.Plan.Locks {
		if l.Hangs {
			hang = append(hang, l.Text)
		} else {
			off = append(off, l.Text)
		}
	}
	for _, o := range j.Plan.StaysOpen {
		if o.Open {
			bleeds = append(bleeds, o.Text)
		}
	}
	open := doc.Each(j.Case.Pump.Open, func(at evidence.At) string { return words.Titled(j.Book.Openings.Get(at.ID).Title, at.Place) })
	part := doc.List(doc.Said(
		"The pump is "+string(j.Case.Pump.State)+" by the case. See for yourself.",
		joined("Locks that hang: ", hang, len(hang)), joined("Off again: ", off, 2), joined("Stay open: ", bleeds, len(bleeds)), joined("Opened: ", open, len(open)),
	)...)
	if len(hang) > 0 {
		part.Text = []string{"Each takes off his own lock. Nobody takes off another's. Who takes over hangs his own first."}
	}
	return part
}

// foundNow is what was seen, proved and put right.
func (j *jobSheet) foundNow() []string {
	proved := doc.Each(j.Plan.Confirmed, func(c chances.Confirmed) string {
		how := ", not corrected yet"
		switch {
		case tickedIf(j.Case.LookedAgain, evidence.At{ID: c.Cause, Place: c.Place}) == doc.Ticked:
			how = ", corrected, looked at again and right"
		case tickedIf(j.Case.Corrected, evidence.At{ID: c.Cause, Place: c.Place}) == doc.Ticked:
			how = ", corrected, not looked at again yet"
		}
		return words.Titled(c.Title, c.Place) + how
	})
	return doc.Said(joined("Proved: ", proved, len(proved)), joined("Seen: ", doc.Each(j.Plan.Found, words.Finding), mostHandedFound))
}

// likeliest is the likeliest cause, as long as nothing is proved.
func (j *jobSheet) likeliest() string {
	causes := j.Plan.Causes
	if len(j.Plan.Confirmed) > 0 || len(causes) == 0 || j.Plan.LeavePump {
		return ""
	}
	return "Likeliest: " + words.Titled(causes[0].Title, causes[0].Place) + " (" + words.Likely(causes[0].Probability) + ")."
}

// nothingDone stands where the case tells of no work.
const nothingDone = "Nothing is in the case yet."

// doneSoFar is what was looked at and put right, and the last lines of the log.
func (j *jobSheet) doneSoFar() []string {
	name := func(at evidence.At) string { return words.Titled(j.Book.Checks.Get(at.ID).Title, at.Place) }
	out := doc.Said(
		joined("Looked at, in order: ", doc.Each(j.Case.Cleared, name), mostHandedDone),
		joined("Looked at, not clear: ", doc.Each(j.Case.Unclear, name), mostHandedDone),
		joined("Proved not to be there: ", doc.Each(j.Case.RuledOut, func(at evidence.At) string { return words.Titled(j.Book.Causes.Get(at.ID).Title, at.Place) }), mostHandedDone),
	)
	log := j.Case.Log
	if more := len(log) - mostHandedLog; more > 0 {
		out, log = append(out, fmt.Sprintf("Earlier lines of the log: %d, in the job.", more)), log[more:]
	}
	for _, l := range log {
		did := []rune(l.Did)
		if len(did) > longLogLine {
			did = append(did[:longLogLine], []rune(" ...")...)
		}
		out = append(out, strings.TrimSpace(evidence.Logged(l.At)+" "+l.By)+": "+string(did))
	}
	if len(out) == 0 {
		return []string{nothingDone}
	}
	return out
}

// next is what comes next, and who must know.
func (j *jobSheet) next() []string {
	out := []string{}
	switch {
	case j.Plan.LeavePump:
		out = append(out, "The pump waits. Causes and steps are held back until the stop condition is over.")
	default:
		for _, c := range j.Plan.Confirmed {
			at := evidence.At{ID: c.Cause, Place: c.Place}
			switch {
			case tickedIf(j.Case.Corrected, at) != doc.Ticked:
				out = append(out, "Correct "+words.Titled(c.Title, c.Place)+": "+c.Repair)
			case tickedIf(j.Case.LookedAgain, at) != doc.Ticked:
				out = append(out, "Look again at "+words.Titled(c.Title, c.Place)+": "+c.LookAgain)
			}
		}
		if check := FirstCheck(j.Plan.Report); check != "" {
			out = append(out, "First check: "+check+"."+doc.If(needsIsolation(firstCheck(j.Plan.Report)), " Only behind the isolation, by the site's procedure."))
		} else if len(out) == 0 {
			out = append(out, "No check is left by the list."+doc.If(j.Case.Pump.State == evidence.Isolated, backBySheet(j.Plan.Report)))
		}
	}
	tell := doc.Each(j.Plan.Told, func(t work.Told) string { return t.Who })
	if len(tell) == 0 {
		tell = []string{"Driller"}
	}
	return append(out, joined("Tell: ", tell, len(tell)))
}

// backBySheet says what the job sheet is for when nothing is left to look for.
func backBySheet(r *engine.Report) string {
	if r.OutOfService {
		return " Close up by the job sheet. The pump does not run again."
	}
	return " Close up and bring it back to service by the job sheet."
}

func needsIsolation(s *work.Step) bool { return s.Pump == "isolated" }

// joined joins texts behind a word, and says how many more the job has.
func joined(lead string, texts []string, most int) string {
	if len(texts) == 0 {
		return ""
	}
	out := lead + strings.Join(texts[:min(len(texts), most)], "; ")
	if more := len(texts) - most; more > 0 {
		out += fmt.Sprintf("; and %d more in the job", more)
	}
	return out + "."
}
