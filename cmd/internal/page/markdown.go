package page

import (
	"bytes"
	"fmt"
	"io"
	"strings"

	"github.com/olekukonko/tablewriter"
	"github.com/olekukonko/tablewriter/renderer"
	"github.com/olekukonko/tablewriter/tw"

	"telltale/cmd/internal/words"
	"telltale/engine"
)

// Markdown writes the report as Markdown.
func Markdown(w io.Writer, r *engine.Report, all bool) error {
	d := &document{}
	lines := pumpLines(r)
	d.printf("# %s\n\n", plain(lines[0]))
	for _, line := range append(lines[1:], bookLine(r)) {
		d.printf("%s  \n", plain(line))
	}
	d.stops(r)
	if err := d.blocks(append(hasteBlocks(r), present([]block{lockBlock(r)})...)); err != nil {
		return err
	}
	if len(r.Contradictions) > 0 {
		d.printf("\n## %s\n\n", sentence(doesNotFit))
		for _, c := range r.Contradictions {
			d.printf("- %s\n", plain(words.Contradiction(c)))
		}
	}
	if !r.LeavePump {
		if err := d.blocks(present([]block{ratingBlock(r)})); err != nil {
			return err
		}
		if line := nextLine(r); line != "" {
			d.printf("\n## Do next\n\n%s\n", plain(line))
			if straight := straightLine(r); straight != "" {
				d.printf("\n%s\n", plain(straight))
			}
		}
		if err := d.blocks([]block{measuredBlock(r)}); err != nil {
			return err
		}
		d.confirmed(r)
		if err := d.causes(r, all); err != nil {
			return err
		}
		d.ask(r)
		d.steps(r)
	}
	d.printf("\n## Notes\n\n")
	for _, n := range append(append([]string{}, r.Notes...), govern) {
		d.printf("- %s\n", plain(n))
	}
	_, err := w.Write(d.Bytes())
	return err
}

// document collects the Markdown.
type document struct{ bytes.Buffer }

func (d *document) printf(format string, args ...any) { fmt.Fprintf(d, format, args...) }

// plain keeps text from a file from acting as Markdown or HTML.
var plain = strings.NewReplacer(
	"\\", "\\\\", "`", "\\`", "*", "\\*", "_", "\\_", "[", "\\[", "]", "\\]",
	"<", "&lt;", ">", "&gt;", "|", "\\|", "#", "\\#", "\n", " ", "\r", " ",
).Replace

func (d *document) stops(r *engine.Report) {
	if len(r.Stop) == 0 {
		return
	}
	d.printf("\n## Stop first\n\n")
	for _, s := range r.Stop {
		d.printf("**%s**\n\n", plain(StopHead(s)))
		for _, do := range s.Do {
			d.printf("- %s\n", plain(do))
		}
		d.printf("\n")
	}
}

func (d *document) confirmed(r *engine.Report) {
	if len(r.Confirmed) == 0 {
		return
	}
	d.printf("\n## Confirmed\n\n")
	for _, c := range r.Confirmed {
		d.printf("- **%s**\n", plain(Titled(c.Title, c.Place)))
		for _, f := range ProvedFacts(c) {
			d.printf("  - %s: %s\n", f.Label, plain(f.Text))
		}
	}
	if line := ExplainsAll(r); line != "" {
		d.printf("\n%s\n", line)
	}
	for _, u := range r.Unexplained {
		d.printf("- Still unexplained: %s\n", plain(words.Unexplained(r, u)))
	}
}

func (d *document) causes(r *engine.Report, all bool) error {
	d.printf("\n## Likely causes\n\n")
	table := tablewriter.NewTable(d,
		tablewriter.WithRenderer(renderer.NewMarkdown()),
		tablewriter.WithHeaderAutoFormat(tw.Off),
		tablewriter.WithHeaderAlignment(tw.AlignLeft),
		tablewriter.WithEastAsian(tw.Off),
		tablewriter.WithAlignment(tw.Alignment{tw.AlignRight, tw.AlignLeft, tw.AlignLeft, tw.AlignLeft}),
	)
	table.Header("chance", "cause", "for (decibans)", "against (decibans)")
	for _, c := range likely(r, all) {
		row := []string{Percent(c.Probability), plain(Titled(c.Title, c.Place)), reasonCell(words.Weights(r.Found, c.For)), reasonCell(words.Weights(r.Found, c.Against))}
		if err := table.Append(row); err != nil {
			return err
		}
	}
	if err := table.Render(); err != nil {
		return err
	}
	d.printf("\nNone of the rulebook's causes: %s. By area: %s.\n\n%s\n", Percent(r.NoneOfThese), plain(groupLine(r)), plain(r.Rulebook.Basis))
	if line := firmLine(r); line != "" {
		d.printf("\n%s\n", line)
	}
	return nil
}

func reasonCell(reasons []words.Weight) string {
	var parts []string
	for i, reason := range reasons {
		if i == mostReasons {
			break
		}
		parts = append(parts, decibans(reason.Decibans)+" "+plain(reason.Text))
	}
	return strings.Join(parts, "; ")
}

func (d *document) steps(r *engine.Report) {
	if len(r.Steps) == 0 && r.Closed {
		d.printf("\n## Steps, in this order\n\n%s\n", nothingLeft)
		return
	}
	d.printf("\n## Steps, in this order\n\n%s %s\n\n", listNote(r), whenFound)
	for _, line := range signalLegend(r) {
		d.printf("%s  \n", line)
	}
	d.printf("\n")
	d.stepList(r.Steps)
	if a := r.RunAgain; a != nil {
		d.printf("\n## If nothing was found: look when the pump runs again\n\n%s\n\n", runAgainNote(a))
		d.stepList(a.Steps)
	}
}

func (d *document) stepList(steps []engine.StepReport) {
	rest := restFrom(steps)
	for _, s := range steps {
		if s.Number == rest {
			d.printf("\n%s\n\n", onlyIfNothing)
		}
		kind := s.Kind
		if s.Signal != "" {
			kind += ", " + strings.ToUpper(s.Signal)
		}
		d.printf("%d. **%s** (%s; %s)  \n   %s\n", s.Number, plain(Titled(s.Title, s.Place)), kind, stepNote(s), plain(s.Do))
		if len(s.Tools) > 0 {
			d.printf("   - Tools: %s\n", plain(strings.Join(s.Tools, ", ")))
		}
		if len(s.Looks) > 0 {
			d.printf("   - Shows: %s\n", plain(strings.Join(s.Looks, "; ")))
		}
		for _, result := range s.Results {
			d.printf("   - [ ] %s: %s\n", plain(result.If), plain(result.Then))
		}
	}
}

func (d *document) ask(r *engine.Report) {
	asked := questions(r)
	if len(asked) == 0 {
		return
	}
	d.printf("\n## Worth asking now\n\n")
	for _, q := range asked {
		d.printf("- %s In the case file: %s (%.2f bits)\n", plain(q.text()), plain(q.Sign), q.Bits)
	}
}
