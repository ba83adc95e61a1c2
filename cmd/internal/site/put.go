package site

import (
	"cmp"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/prompt"
)

// put is a prompt as a page shows it.
type put struct {
	prompt.Prompt
	Address string // where its forms go
	Turn    string
	Refused string        // why the last answer was not taken
	Changed []prompt.Line // what changed since it was asked
	Was     string        // what the answer was, where it does not stand in its place again
	Typed   string        // what was typed in it, so that it need not be typed again
	Held    []string      // what was ticked in it
	Leaving string        // where leaving leads to
	Ended   string        // what to know where the talk is over; it can be begun again
	Known   string        // leads to what the case holds, to be put right; "" where there is no case
	// Readings lead to where readings of what is asked are typed in.
	Readings []way
}

// refused says why an answer was not taken. What was typed and ticked comes back where
// the same is asked still, and is told where it cannot. of is what the answer was given
// to; nil: nobody knows any more.
func (p *put) refused(err error, form url.Values, of *shown) (status int) {
	p.Refused, status = refusal(err)
	again := form.Get(fieldPrompt) == p.ID
	if again {
		p.Typed, p.Held = form.Get(fieldText), form[fieldChosen]
	}
	a := answerOf(form)
	var was []string
	if !again || p.Entry == nil {
		was = doc.Said(strings.TrimSpace(form.Get(fieldText)))
	}
	if status == http.StatusUnprocessableEntity {
		a.Chosen = nil // it is asked again as it was
	}
	for _, id := range a.Chosen {
		if slices.Contains(p.Held, id) && titled(p.Options, id) != "" {
			continue // it is ticked again
		}
		title := ""
		if of != nil {
			title = titled(of.prompt.Options, id)
		}
		was = append(was, cmp.Or(title, id))
	}
	p.Was = strings.Join(was, "; ")
	return status
}

// end has a talk that is over say so where it does not by itself, and offers to begin it
// again; whole says that nothing is wrong with the file.
func (p *put) end(whole bool) {
	p.Ended = "Once that is put right, begin again."
	if whole {
		p.Ended = "Everything that was answered is in the file."
	}
	if p.Heading() == "" {
		p.Ask = "This talk is over."
	}
}

// titled is the title of an option; "" if there is none of that id.
func titled(options []prompt.Option, id string) string {
	i := slices.IndexFunc(options, func(o prompt.Option) bool { return o.ID == id })
	if i < 0 {
		return ""
	}
	return options[i].Title
}

// Heading is what is asked, or what stands first where the body asks it.
func (p *put) Heading() string {
	if p.Ask != "" || len(p.Body) == 0 {
		return p.Ask
	}
	return p.Body[0].Text
}

// Said is the body without its heading, in paragraphs and lists.
func (p *put) Said() []group {
	if p.Ask != "" || len(p.Body) == 0 {
		return groups(p.Body)
	}
	return groups(p.Body[1:])
}

// Latest is what the last answer brought.
func (p *put) Latest() []group { return groups(p.News) }

// Ticks are the answers that go together. Withs go with them too, and end it; Buttons
// are the others, each of which is an answer by itself; Tells only show something.
func (p *put) Ticks() []prompt.Option {
	return p.only(func(o prompt.Option) bool { return o.Together && !o.Aside })
}

// Withs are the buttons that take what is ticked along.
func (p *put) Withs() []prompt.Option {
	return p.only(func(o prompt.Option) bool { return o.Together && o.Aside })
}

// Buttons are the answers that stand alone, as the question has them or beside it.
func (p *put) Buttons(aside bool) []prompt.Option {
	return p.only(func(o prompt.Option) bool { return !o.Together && o.Shows == nil && o.Aside == aside })
}

// fewButtons are shown large; of more each takes less room.
const fewButtons = 12

// Many says whether the buttons are many.
func (p *put) Many() bool { return len(p.Buttons(false)) > fewButtons }

// pile is buttons of which there are many, under what they have in common.
type pile struct {
	Heading string // "" of those that stand under none
	Open    bool
	Options []prompt.Option
}

// Piles are the buttons of a long list by their headings; the first is open.
func (p *put) Piles() (out []pile) {
	for _, o := range p.Buttons(false) {
		if len(out) == 0 || o.Heading != "" {
			out = append(out, pile{Heading: o.Heading, Open: len(out) == 0})
		}
		last := &out[len(out)-1]
		last.Options = append(last.Options, o)
	}
	return out
}

// Tells are what is no answer but shows something.
func (p *put) Tells() []prompt.Option {
	return p.only(func(o prompt.Option) bool { return o.Shows != nil })
}

func (p *put) only(so func(prompt.Option) bool) (out []prompt.Option) {
	for _, o := range p.Options {
		if so(o) {
			out = append(out, o)
		}
	}
	return out
}

// IsTicked says whether an answer was ticked when the last was refused.
func (p *put) IsTicked(id string) bool { return slices.Contains(p.Held, id) }

// Words says whether words are the answer itself, not something told beside it.
func (p *put) Words() bool { return p.Entry != nil && !p.Entry.Beside }

// group is paragraphs of one kind, or a list.
type group struct {
	Kind  prompt.LineKind
	Lines []listed
}

// List says whether it is a list.
func (g group) List() bool { return g.Kind == prompt.Item }

// listed is a line with what belongs under it.
type listed struct {
	prompt.Line
	Under []string
}

// groups puts lines that belong together together.
func groups(lines []prompt.Line) (out []group) {
	for _, l := range lines {
		kind := l.Kind
		switch kind {
		case prompt.Done, prompt.Open, prompt.Item:
			kind = prompt.Item
		case prompt.Under:
			if n := len(out); n > 0 && out[n-1].List() {
				last := &out[n-1].Lines[len(out[n-1].Lines)-1]
				last.Under = append(last.Under, l.Text)
				continue
			}
		}
		if n := len(out); kind != prompt.Item || n == 0 || !out[n-1].List() {
			out = append(out, group{Kind: kind})
		}
		last := &out[len(out)-1]
		last.Lines = append(last.Lines, listed{Line: l})
	}
	return out
}

// Grouped is for what an option shows.
func (p *put) Grouped(lines []prompt.Line) []group { return groups(lines) }
