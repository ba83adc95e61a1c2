package dialogue

import (
	"strings"

	"telltale/cmd/internal/pages"
	"telltale/cmd/internal/words"
	"telltale/engine"
	"telltale/engine/interview"
	"telltale/evidence"
)

// mostLeading is how many causes stand above a question.
const mostLeading = 3

// standing says in few lines where the case stands, if that has changed since it
// was last said: the leading causes and the check that the steps lead to. It
// says nothing while something proved is put right.
func (d *Dialogue) standing(m *interview.Move) error {
	if m == nil || m.Report == nil || d.sitting.Repairing || explained(m.Report) {
		return nil
	}
	lines := leading(m.Report)
	if step := pages.FirstCheck(m.Report); step != "" && m.Step.Kind != engine.StepCheck {
		lines = append(lines, "First check: "+step+".")
	}
	if len(lines) == 0 || strings.Join(lines, "\n") == d.stood {
		return nil
	}
	d.stood = strings.Join(lines, "\n")
	if err := d.term.Gap(); err != nil {
		return err
	}
	if err := d.term.Say(0, "Likely now:"); err != nil {
		return err
	}
	for _, line := range lines {
		if err := d.term.Say(2, line); err != nil {
			return err
		}
	}
	return nil
}

// ratings says once which figures of the pump are near a rating, or could not be
// held against it; past one is a stop condition, which comes before.
func (d *Dialogue) ratings(m *interview.Move) error {
	lines := pages.RatingLines(m.Report, false)
	if m.Kind == interview.Stop || m.Kind == interview.Leave || strings.Join(lines, "\n") == d.rated {
		return nil
	}
	d.rated = strings.Join(lines, "\n")
	for _, line := range lines {
		if err := d.term.Say(0, line); err != nil {
			return err
		}
	}
	return nil
}

func explained(r *engine.Report) bool { return len(r.Confirmed) > 0 && len(r.Unexplained) == 0 }

// leading are the likeliest causes, one a line.
func leading(r *engine.Report) []string {
	var lines []string
	if len(r.Found) == 0 {
		return nil
	}
	for i, c := range r.Causes {
		if i == mostLeading {
			break
		}
		lines = append(lines, words.Percent(c.Probability)+"  "+words.Titled(c.Title, c.Place))
	}
	return lines
}

// why says what the answer tells apart.
func (d *Dialogue) why(m *interview.Move) error {
	text := "The answer changes what is done next."
	if len(m.Apart) > 1 {
		text = "The answers point to different things: " + strings.Join(m.Apart, " / ") + "."
	}
	text += " No other open question that can be answered now is expected to tell more of use."
	return d.term.Say(2, text)
}

// fill puts the figures of this pump into a text of the rulebook.
func (d *Dialogue) fill(k *evidence.Case, text string) string { return engine.Fill(d.book, k, text) }
