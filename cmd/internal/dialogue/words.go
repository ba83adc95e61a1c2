package dialogue

import (
	"fmt"
	"strings"

	"telltale/cmd/internal/page"
	"telltale/engine"
	"telltale/engine/interview"
	"telltale/evidence"
)

// mostLeading is how many causes stand above a question.
const mostLeading = 3

// standing says in few lines where the case stands: the leading causes and the
// next step. m is nil when there is nothing to say yet.
func (d *Dialogue) standing(m *interview.Move) error {
	if m == nil || m.Report == nil || len(m.Report.Causes) == 0 || len(m.Report.Found) == 0 {
		return nil
	}
	if err := d.term.Gap(); err != nil {
		return err
	}
	if err := d.term.Say(0, "Likely now: "+leading(m.Report)+"."); err != nil {
		return err
	}
	if step := page.FirstCheck(m.Report); step != "" {
		return d.term.Say(0, "First check: "+step+".")
	}
	return nil
}

func leading(r *engine.Report) string {
	var parts []string
	for i, c := range r.Causes {
		if i == mostLeading {
			break
		}
		parts = append(parts, page.Percent(c.Probability)+" "+page.Titled(c.Title, c.Where))
	}
	return strings.Join(parts, "; ")
}

// why says what the answer tells apart.
func (d *Dialogue) why(m *interview.Move) error {
	text := "The answer changes what is done next."
	if len(m.Apart) > 1 {
		text = "The answers point to different things: " + strings.Join(m.Apart, "; ") + "."
	}
	for _, q := range m.Report.Ask {
		if q.Symptom == m.Symptom.ID {
			text += fmt.Sprintf(" It is expected to tell %.2f bits; no other open question that can be answered now tells more of use.", q.Bits)
			break
		}
	}
	return d.term.Say(2, text)
}

// fill puts the figures of this pump into a text of the rulebook.
func (d *Dialogue) fill(k *evidence.Case, text string) string { return engine.Fill(d.book, k, text) }
