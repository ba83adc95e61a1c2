package page

import (
	"bytes"
	"fmt"
	"io"
	"strings"

	"github.com/mattn/go-runewidth"

	"telltale/cmd/internal/words"
	"telltale/engine"
)

// sheet collects the lines of a text page.
type sheet struct {
	bytes.Buffer
	width int
}

// Text writes the report as plain text of at most width columns.
func Text(w io.Writer, r *engine.Report, width int, all bool) error {
	s := &sheet{width: width}
	for i, line := range pumpLines(r) {
		indent := ""
		if i > 0 {
			indent = "  "
		}
		s.para(indent, "  ", line)
	}
	s.para("  ", "  ", bookLine(r))
	s.stops(r)
	if err := s.textBlocks(append(hasteBlocks(r), present([]block{lockBlock(r)})...)); err != nil {
		return err
	}
	s.contradictions(r)
	if !r.LeavePump {
		if err := s.textBlocks(present([]block{ratingBlock(r)})); err != nil {
			return err
		}
		s.next(r)
		if err := s.textBlocks([]block{measuredBlock(r)}); err != nil {
			return err
		}
		s.confirmed(r)
		s.causes(r, all)
		s.ask(r)
		s.steps(r)
		s.runAgain(r)
	}
	s.foot(r)
	_, err := w.Write(s.Bytes())
	return err
}

// Stops writes the stop conditions alone, for when nothing else can be said.
func Stops(w io.Writer, r *engine.Report, width int) error {
	s := &sheet{width: width}
	s.stops(r)
	if err := s.textBlocks(hasteBlocks(r)); err != nil {
		return err
	}
	return s.flush(w)
}

// para writes text wrapped to the width, the first line behind first and the
// others behind rest.
func (s *sheet) para(first, rest, text string) {
	for i, line := range Wrap(text, s.width-runewidth.StringWidth(first), s.width-runewidth.StringWidth(rest)) {
		lead := rest
		if i == 0 {
			lead = first
		}
		s.WriteString(strings.TrimRight(lead+line, " "))
		s.WriteByte('\n')
	}
}

// Wrap breaks text at blanks to lines of at most firstWidth and then width
// columns; a word longer than the line is cut.
func Wrap(text string, firstWidth, width int) []string {
	var lines []string
	line, room := "", firstWidth
	for _, word := range strings.Fields(text) {
		for {
			gap := 0
			if line != "" {
				gap = 1
			}
			if runewidth.StringWidth(line)+gap+runewidth.StringWidth(word) <= room {
				line += strings.Repeat(" ", gap) + word
				break
			}
			if line != "" {
				lines, line, room = append(lines, line), "", width
				continue
			}
			head := runewidth.Truncate(word, room, "")
			lines, word, room = append(lines, head), word[len(head):], width
		}
	}
	return append(lines, line)
}

func (s *sheet) heading(text string) {
	s.WriteString("\n" + text + "\n")
}

func (s *sheet) stops(r *engine.Report) {
	if len(r.Stop) == 0 {
		return
	}
	s.heading("STOP FIRST " + strings.Repeat("=", s.width-11))
	for _, stop := range r.Stop {
		s.para("  ", "      ", StopHead(stop))
		for _, do := range stop.Do {
			s.para("    - ", "      ", do)
		}
	}
	s.WriteString(strings.Repeat("=", s.width) + "\n")
}

// contradictions writes what speaks against each other in the case.
func (s *sheet) contradictions(r *engine.Report) {
	if len(r.Contradictions) == 0 {
		return
	}
	s.heading(doesNotFit)
	for _, c := range r.Contradictions {
		s.para("  - ", "    ", words.Contradiction(c))
	}
}

func (s *sheet) next(r *engine.Report) {
	line := nextLine(r)
	if line == "" {
		return
	}
	s.heading("DO NEXT")
	s.para("  ", "  ", line)
	if straight := straightLine(r); straight != "" {
		s.para("  ", "  ", straight)
	}
}

func (s *sheet) confirmed(r *engine.Report) {
	if len(r.Confirmed) == 0 {
		return
	}
	s.heading("CONFIRMED")
	for _, c := range r.Confirmed {
		s.para("  ", "    ", Titled(c.Title, c.Place))
		for _, f := range ProvedFacts(c) {
			s.labelled(f.Label, f.Text)
		}
	}
	if line := ExplainsAll(r); line != "" {
		s.para("  ", "  ", line)
	}
	if len(r.Unexplained) == 0 {
		return
	}
	s.para("  ", "  ", "Still unexplained:")
	for _, u := range r.Unexplained {
		s.para("    - ", "      ", words.Unexplained(r, u))
	}
}

// labelled writes a line under a cause or step, its label in a column.
func (s *sheet) labelled(label, text string) {
	if text != "" {
		s.para(fmt.Sprintf("      %-8s ", label), strings.Repeat(" ", 15), text)
	}
}

func (s *sheet) causes(r *engine.Report, all bool) {
	s.heading("LIKELY CAUSES")
	shown := likely(r, all)
	for _, c := range shown {
		s.para(fmt.Sprintf("  %9s  ", Percent(c.Probability)), strings.Repeat(" ", 13), Titled(c.Title, c.Place))
		s.reasons("for", words.Weights(r.Found, c.For))
		s.reasons("against", words.Weights(r.Found, c.Against))
	}
	if rest := len(r.Causes) - len(shown); rest > 0 {
		s.para("  ", "  ", fmt.Sprintf("%d more are less likely (--all shows them).", rest))
	}
	s.para("  ", "  ", "None of the rulebook's causes: "+Percent(r.NoneOfThese)+".")
	s.para("  ", "  ", "By area: "+groupLine(r)+".")
	s.para("  ", "  ", "Weights are in decibans: +10 makes a cause ten times likelier, -10 ten times less likely (as odds).")
	s.para("  ", "  ", r.Rulebook.Basis)
	if line := firmLine(r); line != "" {
		s.para("  ", "  ", line)
	}
}

func groupLine(r *engine.Report) string {
	var parts []string
	for i, g := range r.Groups {
		if i == 0 || g.Probability >= leastGroup {
			parts = append(parts, strings.ToLower(g.Title)+" "+Percent(g.Probability))
		}
	}
	return strings.Join(parts, ", ")
}

// mostReasons keeps a cause readable; JSON has all.
const mostReasons = 4

func (s *sheet) reasons(label string, reasons []words.Weight) {
	for i, reason := range reasons {
		if i == mostReasons {
			return
		}
		if i > 0 {
			label = ""
		}
		s.para(fmt.Sprintf("             %-8s%4s  ", label, decibans(reason.Decibans)), strings.Repeat(" ", 27), reason.Text)
	}
}

func (s *sheet) steps(r *engine.Report) {
	s.heading("STEPS, IN THIS ORDER")
	if len(r.Steps) == 0 && r.Closed {
		s.para("  ", "  ", nothingLeft)
		return
	}
	if len(r.Steps) == 0 {
		s.para("  ", "  ", "No check of the rulebook would settle what is open. Ask the questions above, or call the maintenance engineer.")
		return
	}
	s.para("  ", "  ", listNote(r))
	s.para("  ", "  ", whenFound)
	for _, line := range signalLegend(r) {
		s.para("  ", "    ", line)
	}
	rest := restFrom(r.Steps)
	for _, step := range r.Steps {
		if step.Number == rest {
			s.WriteByte('\n')
			s.para("  ", "  ", onlyIfNothing)
		}
		s.step(step)
	}
}

// runAgain writes what is left to look at when the pump runs again.
func (s *sheet) runAgain(r *engine.Report) {
	if r.RunAgain == nil {
		return
	}
	s.heading("IF NOTHING WAS FOUND: LOOK WHEN THE PUMP RUNS AGAIN")
	s.para("  ", "  ", runAgainNote(r.RunAgain))
	for _, step := range r.RunAgain.Steps {
		s.step(step)
	}
}

func (s *sheet) step(step engine.StepReport) {
	kind := strings.ToUpper(step.Kind)
	if step.Signal != "" {
		kind += " " + strings.ToUpper(step.Signal)
	}
	s.WriteByte('\n')
	s.para(fmt.Sprintf("%3d. ", step.Number), "     ", fmt.Sprintf("[%s] %s (%s)", kind, Titled(step.Title, step.Place), stepNote(step)))
	s.para("     ", "     ", step.Do)
	s.labelled("Tools", strings.Join(step.Tools, ", "))
	s.labelled("Shows", strings.Join(step.Looks, "; "))
	for _, result := range step.Results {
		s.para("      - ", "        ", result.If+": "+result.Then)
	}
}

func (s *sheet) ask(r *engine.Report) {
	asked := questions(r)
	if len(asked) == 0 {
		return
	}
	s.heading("WORTH ASKING NOW (nothing to open; best first)")
	for _, q := range asked {
		s.para("  ? ", "    ", q.text())
		s.para("    ", "    ", fmt.Sprintf("In the case file: %s   (%.2f bits)", q.Sign, q.Bits))
	}
}

func (s *sheet) foot(r *engine.Report) {
	s.heading("NOTES")
	for _, n := range r.Notes {
		s.para("  - ", "    ", n)
	}
	s.para("  - ", "    ", govern)
}
