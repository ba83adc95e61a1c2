package trainer

import (
	"errors"
	"fmt"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/talk"
	"telltale/cmd/internal/words"
	"telltale/engine/practice"
	"telltale/evidence"
)

// perPage is how many entries a menu shows at once, besides its keys.
const perPage = 7

// errBack means that the trainee goes back to the menu before.
var errBack = errors.New("back")

// pick lets the trainee choose one of a long list: page by page, or narrowed
// by typing a word.
func (x *Exercise) pick(question string, offers []practice.Offer) (practice.Offer, error) {
	shown, from := offers, 0
	for {
		to := min(len(shown), from+perPage)
		var options []talk.Option
		for _, o := range shown[from:to] {
			options = append(options, talk.Option{Text: o.Title})
		}
		if len(shown) > perPage {
			options = append(options, talk.Option{Key: "m", Text: fmt.Sprintf("more (%d to %d of %d shown)", from+1, to, len(shown))})
		}
		options = append(options, talk.Option{Key: "b", Text: "back"})
		word, i, err := x.term.ChooseOrWord(question+" A number, or a word to narrow the list.", options)
		switch {
		case err != nil:
			return practice.Offer{}, err
		case i < 0:
			narrow := holding(offers, word)
			if len(narrow) == 0 {
				if err := x.say("Nothing here has %q in it.", clip(word)); err != nil {
					return practice.Offer{}, err
				}
				narrow = offers
			}
			shown, from = narrow, 0
		case options[i].Key == "b":
			return practice.Offer{}, errBack
		case options[i].Key == "m":
			if from = to; from == len(shown) {
				from = 0
			}
		default:
			return shown[from+i], nil
		}
	}
}

// holding gives the offers that hold every word, those with all of them in the
// title first.
func holding(offers []practice.Offer, words string) []practice.Offer {
	var titled, other []practice.Offer
	for _, o := range offers {
		switch {
		case holds(o.Title, words):
			titled = append(titled, o)
		case holds(o.Title+" "+o.More+" "+strings.ReplaceAll(o.ID, "-", " "), words):
			other = append(other, o)
		}
	}
	return append(titled, other...)
}

func holds(text, words string) bool {
	text = strings.ToLower(text)
	for _, w := range strings.Fields(strings.ToLower(words)) {
		if !strings.Contains(text, w) {
			return false
		}
	}
	return true
}

// place asks where; one place is taken as it is. all offers every place at
// once.
func (x *Exercise) place(o practice.Offer, all bool) ([]evidence.Place, error) {
	if len(o.Places) == 1 {
		return o.Places, nil
	}
	var options []talk.Option
	for _, p := range o.Places {
		options = append(options, talk.Option{Text: strings.TrimPrefix(words.Titled("", p), ", ")})
	}
	if all {
		options = append(options, talk.Option{Key: "a", Text: "all of these"})
	}
	options = append(options, talk.Option{Key: "b", Text: "back"})
	i, err := x.term.Choose(o.Title+": where?", options)
	switch {
	case err != nil:
		return nil, err
	case options[i].Key == "b":
		return nil, errBack
	case options[i].Key == "a":
		return o.Places, nil
	}
	return o.Places[i : i+1], nil
}

func (x *Exercise) say(format string, args ...any) error {
	return x.term.Say(0, fmt.Sprintf(format, args...))
}

func (x *Exercise) below(format string, args ...any) error {
	return x.term.Say(2, fmt.Sprintf(format, args...))
}

// item writes a paragraph behind a mark, such as "- ", its other lines under the
// first.
func item(term *talk.Terminal, columns, indent int, mark, text string) error {
	lead := indent + len(mark)
	for i, line := range doc.Wrap(text, columns-lead, columns-lead) {
		at, before := lead, ""
		if i == 0 {
			at, before = indent, mark
		}
		if err := term.Say(at, before+line); err != nil {
			return err
		}
	}
	return nil
}

func (x *Exercise) item(indent int, mark, text string) error {
	return item(x.term, x.columns, indent, mark, text)
}

// titled names a thing of the book at its place.
func (x *Exercise) titled(do practice.Doing, id string, p evidence.Place) string {
	return words.Titled(x.s.Title(do, id), p)
}

const longestEcho = 30

func clip(s string) string {
	if runes := []rune(s); len(runes) > longestEcho {
		return string(runes[:longestEcho]) + "..."
	}
	return s
}
