package dialogue

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"telltale/cmd/internal/talk"
	"telltale/engine/interview"
	"telltale/evidence"
	"telltale/rules"
)

// shown is how many signs are offered at once.
const shown = 8

// notice lets the crew report a sign: by number, or narrowed by words. With
// words the signs that are answered already are offered too, to be put right.
func (d *Dialogue) notice(k *evidence.Case, question string) error {
	question += " Type a number, or a word such as leak, knock or pressure."
	words, from := "", 0
	for {
		signs := d.reportable(k, words)
		if len(signs) == 0 && words == "" {
			return d.nothingNoticed(k)
		}
		if len(signs) == 0 {
			if err := d.term.Say(0, fmt.Sprintf("No sign of the rulebook has a word of %q in it. Try another word.", words)); err != nil {
				return err
			}
			words, from = "", 0
			continue
		}
		some := signs[from:min(from+shown, len(signs))]
		options := d.signOptions(k, some, len(signs)-from-len(some))
		answer, i, err := d.term.ChooseOrWord(question, options)
		switch {
		case err != nil:
			return err
		case i < 0:
			if _, err := strconv.Atoi(answer); err == nil {
				if err := d.term.Say(0, "There is no number "+answer+" here."); err != nil {
					return err
				}
				continue
			}
			words, from = answer, 0
		case i < len(some):
			return d.answer(k, some[i], d.openPlaces(k, some[i]), nil)
		case options[i].Key == "m":
			from += shown
		case options[i].Key == "b":
			return errBack
		case options[i].Key == "q":
			return errLeave
		default:
			return d.nothingNoticed(k)
		}
	}
}

func (d *Dialogue) signOptions(k *evidence.Case, signs []*rules.Sign, more int) []talk.Option {
	var options []talk.Option
	for _, s := range signs {
		o := talk.Option{Text: s.Title}
		if d.answered(k, s) {
			o.Text += " (answered; to put it right)"
		}
		options = append(options, o)
	}
	if more > 0 {
		options = append(options, talk.Option{Key: "m", Text: fmt.Sprintf("more (%d)", more)})
	}
	return append(options, talk.Option{Key: "x", Text: "nothing (else)"}, talk.Option{Key: "b", Text: "back"}, talk.Option{Key: "q", Text: "leave"})
}

// reportable lists the signs that can be reported, without words only those
// that are not answered everywhere. If none has all the words, it lists those
// that have one of them.
func (d *Dialogue) reportable(k *evidence.Case, words string) []*rules.Sign {
	signs := interview.Signs(d.book, k, words)
	if words == "" {
		return slices.DeleteFunc(signs, func(s *rules.Sign) bool { return d.answered(k, s) })
	}
	if len(signs) > 0 {
		return signs
	}
	held := map[*rules.Sign]float64{} // a word that few signs have counts for more
	for _, word := range strings.Fields(words) {
		if len(word) < shortestWord {
			continue // "in", "of" and the like tell nothing
		}
		having := interview.Signs(d.book, k, word)
		for _, s := range having {
			held[s] += 1 / float64(len(having))
		}
	}
	signs = slices.DeleteFunc(interview.Signs(d.book, k, ""), func(s *rules.Sign) bool { return held[s] == 0 })
	slices.SortStableFunc(signs, func(a, b *rules.Sign) int { return cmp.Compare(held[b], held[a]) })
	return signs
}

// shortestWord is the length from which a word by itself finds signs.
const shortestWord = 3

func (d *Dialogue) answered(k *evidence.Case, s *rules.Sign) bool {
	return !slices.ContainsFunc(k.Pump.Places(s.Level), func(p evidence.Place) bool { return !k.Known(s.ID, p) })
}

// openPlaces are where a sign is not answered; all places, to be put right,
// when it is answered everywhere.
func (d *Dialogue) openPlaces(k *evidence.Case, s *rules.Sign) []evidence.Place {
	places := k.Pump.Places(s.Level)
	if d.answered(k, s) {
		return places
	}
	return slices.DeleteFunc(places, func(p evidence.Place) bool { return k.Known(s.ID, p) })
}

// nothingNoticed goes on without a sign where there is one; without any there
// is nothing to reason from.
func (d *Dialogue) nothingNoticed(k *evidence.Case) error {
	for _, f := range k.Findings {
		if f.Answer == evidence.Present {
			return nil
		}
	}
	if err := d.term.Say(0, "Without one sign there is nothing to reason from."); err != nil {
		return err
	}
	return errLeave
}

// report is notice on the side: back leads to where it was asked for.
func (d *Dialogue) report(k *evidence.Case, question string) error {
	if err := d.notice(k, question); !errors.Is(err, errBack) {
		return err
	}
	return nil
}
