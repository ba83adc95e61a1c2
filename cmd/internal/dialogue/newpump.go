package dialogue

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/prompt"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/evidence/rig"
)

// newPump asks for what a pump's file needs, and writes it. All but its name and its
// kind can be left out.
func (t *Rig) newPump(why string) rigTurn {
	p := prompt.Prompt{ID: "pump name", Ask: "A new pump. What is it called?", Entry: &prompt.Entry{}, News: prompt.Lines(prompt.Text, doc.Said(why)...)}
	return rigTurn{Prompt: p, Take: func(a prompt.Answer) rigTurn {
		name := fileName(a.Text)
		switch {
		case !evidence.IsPumpName(name):
			return t.newPump("Small letters, figures and hyphens make the name of its file, like pump-4.")
		case exists(t.pumpFile(name)):
			return t.newPump("There is " + t.pumpFile(name) + " already.")
		}
		return t.kind(pumpAnswers{name: name, called: a.Text}, "")
	}}
}

func (t *Rig) pumpFile(name string) string {
	return filepath.Join(t.dir, rig.PumpsFolder, name+".yaml")
}

func exists(path string) bool {
	_, err := os.Lstat(path)
	return err == nil
}

// pumpAnswers is what was said so far of a new pump.
type pumpAnswers struct {
	name, called, action string
	sizes                []record.Edit
}

func (t *Rig) kind(p pumpAnswers, why string) rigTurn {
	ask := prompt.Prompt{ID: "kind", Ask: "What kind of pump is it?", News: prompt.Lines(prompt.Text, doc.Said(why)...), Options: []prompt.Option{
		{ID: string(evidence.Triplex), Title: "triplex, single-acting (three cylinders)"}, {ID: string(evidence.Duplex), Title: "duplex, double-acting (two cylinders)"},
	}}
	return rigTurn{Prompt: ask, Take: func(a prompt.Answer) rigTurn {
		p.action, p.sizes = a.One(), nil
		sizes := []pumpSize{{"liner", "How large are its liners inside?"}, {"stroke", "How long is its stroke?"}}
		if p.action == string(evidence.Duplex) {
			sizes = append(sizes, pumpSize{"piston-rod", "How thick are its piston rods?"})
		}
		return t.size(p, sizes)
	}}
}

type pumpSize struct{ key, ask string }

// bareUnits are the units of bare numbers, as they are said.
var bareUnits = map[string]string{"in": "inches", "h": "hours"}

// size asks for the sizes, one after the other, and then for the meter.
func (t *Rig) size(p pumpAnswers, left []pumpSize) rigTurn {
	size, entry := pumpSize{"hours", "What does its hour meter show today?"}, prompt.Entry{Of: evidence.Duration, Unit: "h"}
	if len(left) > 0 {
		size, entry = left[0], prompt.Entry{Of: evidence.Length, Unit: "in"}
	}
	ask := prompt.Prompt{ID: size.key, Ask: size.ask + " (a bare number: " + bareUnits[entry.Unit] + ")", Entry: &entry, Options: []prompt.Option{{ID: "unknown", Title: "not known now; it can be written there later", Aside: true}}}
	return rigTurn{Prompt: ask, Take: func(a prompt.Answer) rigTurn {
		next := p
		next.sizes = slices.Clone(p.sizes)
		written := entry.Written(a.Text)
		switch {
		case a.Text == "":
		case len(left) == 0:
			next.sizes = append(next.sizes, record.AddMeter(t.now(), written))
		default:
			next.sizes = append(next.sizes, record.SetPump(size.key, written))
		}
		if len(left) == 0 {
			return prompt.End(rigStep(func() (rigTurn, error) { return t.writePump(next) }))
		}
		return t.size(next, left[1:])
	}}
}

// writePump writes the file of a new pump. What cannot be is asked again.
func (t *Rig) writePump(p pumpAnswers) (rigTurn, error) {
	path, words := t.pumpFile(p.name), t.book.Vocabulary()
	edits := []record.Edit{record.SetPump("name", p.called)}
	text, err := record.ApplyPump(path, []byte("pump:\n  action: "+p.action+"\n"), words, append(edits, p.sizes...)...)
	var refused *record.RefusedError
	if errors.As(err, &refused) {
		return t.kind(p, "That cannot be: "+refused.Error()+". Nothing was written; once more."), nil
	}
	if err != nil {
		return chosenAll(), err
	}
	f, err := record.OpenPump(t.dir, path, words, true)
	if err != nil {
		return chosenAll(), err
	}
	var changed *record.ChangedError
	if err := f.Start(append(text, t.canStand()...)); errors.As(err, &changed) {
		return t.newPump("Somebody else has just made " + path + "."), nil
	} else if err != nil {
		return chosenAll(), err
	}
	t.written = append(t.written, path)
	return t.choose(path + " is written. What else can stand there is in it, behind #.")
}

// canStand is what else can stand in a pump's file, as remarks: names and blanks, no
// figure.
func (t *Rig) canStand() []byte {
	var out strings.Builder
	out.WriteString("# What else can stand here; take the # away, and write what is so of this pump.\n" +
		"# Under pump: rotation (forward or reverse), connecting-rod (between the centres of its bearings), cylinders (their names).\n" +
		"#\n# Figures of this pump's manual, read from the manual and from nowhere else:\n# manual:\n")
	for _, limit := range t.book.Limits.List {
		if limit.Value == nil || limit.AsLowAs != nil {
			fmt.Fprintf(&out, "#   %s:   # %s (%s)\n", limit.ID, limit.Title, limit.Dimension)
		}
	}
	out.WriteString("#\n# What is good until a date, and how long parts are expected to last:\n" +
		"# dated:\n#   - {what: , until: }\n# parts:\n#   piston: {expected-life: }\n# shims-on-hand: []\n")
	return []byte(out.String())
}
