package trainer

import (
	"fmt"
	"strings"

	"telltale/cmd/internal/prompt"
	"telltale/cmd/internal/words"
	"telltale/engine/practice"
	"telltale/evidence"
)

var stateWords = map[evidence.PumpState]string{
	evidence.Running: "The pump runs", evidence.Stopped: "The pump stands, not isolated", evidence.Isolated: "The pump is isolated",
}

// doings are the entries of the main menu that take something to do it to.
var doings = []struct {
	do       practice.Doing
	text     string
	question string
	nothing  string
}{
	{practice.Look, "look at a sign or ask for it", "Which sign?", "Nothing is left to look at as the pump stands."},
	{practice.Safety, "do a safety step", "Which safety step?", "Every safety step that fits is done."},
	{practice.Open, "open something", "What is opened?", "Nothing is left to open."},
	{practice.Check, "do a check", "Which check?", "No check is left as the pump stands."},
	{practice.Name, "name the cause and the correction", "Which cause?", ""},
	{practice.Root, "say what brought a named cause on", "", "Name first what failed. Then say what brought it on."},
}

// menu is the main menu.
func (x *Exercise) menu() turn {
	head := fmt.Sprintf("%s. %.0f min spent.", stateWords[x.s.Case().Pump.State], x.s.Minutes())
	if n := len(x.s.Faults()); n > 0 {
		head += fmt.Sprintf(" Safety faults: %d.", n)
	}
	p := prompt.Prompt{ID: "menu", Body: prompt.Lines(prompt.Block, head)}
	for _, d := range doings {
		p.Options = append(p.Options, prompt.Option{ID: string(d.do), Title: d.text})
	}
	p.Options = append(p.Options,
		prompt.Option{ID: "known", Title: "what is known so far", Shows: x.known()},
		prompt.Option{ID: string(practice.Leave), Title: "leave the pump to the driller: the well comes first"},
		prompt.Option{ID: string(practice.GaveUp), Title: "give up"})
	return turn{Prompt: p, Take: func(a prompt.Answer) turn {
		for i, d := range doings {
			if string(d.do) == a.One() {
				return x.choose(i)
			}
		}
		return prompt.End(deed(func() ([]prompt.Line, error) {
			if a.One() == string(practice.GaveUp) {
				x.s.Stop(practice.GaveUp)
				return nil, nil
			}
			return x.did(practice.Action{Do: practice.Leave})
		}))
	}}
}

// choose asks to what one of the doings is done, and where.
func (x *Exercise) choose(i int) turn {
	d := doings[i]
	if d.do == practice.Root {
		return x.root(d.nothing)
	}
	offers := x.s.Offers(d.do)
	if len(offers) == 0 {
		return prompt.End(deed(func() ([]prompt.Line, error) { return []prompt.Line{text("%s", d.nothing)}, nil }))
	}
	return pick(d.question, offers, "", func(o practice.Offer) turn {
		return where(o, d.do == practice.Look, func(places []evidence.Place) turn {
			if d.do == practice.Name {
				return x.name(practice.Action{Do: d.do, ID: o.ID, Place: places[0]})
			}
			return prompt.End(deed(func() ([]prompt.Line, error) { return x.doAll(d.do, o.ID, places) }))
		})
	})
}

// doAll does one thing at some places, until it is stopped at one.
func (x *Exercise) doAll(do practice.Doing, id string, places []evidence.Place) ([]prompt.Line, error) {
	var out []prompt.Line
	for _, p := range places {
		lines, err := x.did(practice.Action{Do: do, ID: id, Place: p})
		out = append(out, lines...)
		if n := len(x.s.Journal); err != nil || x.s.Journal[n-1].Refused != nil {
			return out, err
		}
	}
	return out, nil
}

// pick asks for one of a long list, which words narrow.
func pick(question string, offers []practice.Offer, words string, take func(practice.Offer) turn) turn {
	shown := holding(offers, words)
	if len(shown) == 0 {
		again := pick(question, offers, "", take)
		again.News = []prompt.Line{text("Nothing here has %q in it.", prompt.Clip(words))}
		return again
	}
	p := prompt.Prompt{ID: strings.TrimSpace(question + " " + words), Ask: question, Back: "back", Entry: &prompt.Entry{Hint: "a word to narrow the list"}}
	byID := map[string]practice.Offer{}
	for _, o := range shown {
		byID[o.ID] = o
		p.Options = append(p.Options, prompt.Option{ID: o.ID, Title: o.Title})
	}
	return turn{Prompt: p, Take: func(a prompt.Answer) turn {
		if a.Text != "" {
			return pick(question, offers, a.Text, take)
		}
		return take(byID[a.One()])
	}}
}

// holding gives the offers that hold every word, those with all of them in the
// title first.
func holding(offers []practice.Offer, words string) []practice.Offer {
	var titled, other []practice.Offer
	for _, o := range offers {
		switch {
		case prompt.Holds(o.Title, words):
			titled = append(titled, o)
		case prompt.Holds(o.Title+" "+o.More+" "+strings.ReplaceAll(o.ID, "-", " "), words):
			other = append(other, o)
		}
	}
	return append(titled, other...)
}

// where asks at which place; one place is taken as it is. all offers every place
// at once.
func where(o practice.Offer, all bool, take func([]evidence.Place) turn) turn {
	if len(o.Places) == 1 {
		return take(o.Places)
	}
	p := prompt.Prompt{ID: "where " + o.ID, Ask: o.Title + ": where?", Back: "back"}
	at := map[string][]evidence.Place{"all": o.Places}
	for i, place := range o.Places {
		id := "at " + place.String()
		at[id] = o.Places[i : i+1]
		p.Options = append(p.Options, prompt.Option{ID: id, Title: strings.TrimPrefix(words.Titled("", place), ", "), About: &prompt.About{Kind: "place", Cylinder: place.Cylinder, End: place.End}})
	}
	if all {
		p.Options = append(p.Options, prompt.Option{ID: "all", Title: "all of these", Aside: true})
	}
	return turn{Prompt: p, Take: func(a prompt.Answer) turn { return take(at[a.One()]) }}
}
