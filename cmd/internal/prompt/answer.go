package prompt

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"telltale/evidence"
)

// Answer is what somebody answers to a prompt: ids of its options, or a text. As
// JSON: {"prompt": "where wiper-leaks", "rests": "9f86d081884c7d65", "chosen":
// ["at 1", "at 3"]}.
type Answer struct {
	Prompt string   `json:"prompt"`          // the id of the prompt
	Rests  string   `json:"rests,omitempty"` // the digest that the prompt carried
	Chosen []string `json:"chosen,omitempty"`
	Text   string   `json:"text,omitempty"`
}

// Back is the id of going back, where a prompt has a way back.
const Back = "back"

// Clean is the answer as it is to be taken: its text as Plain, each option once.
func (a Answer) Clean() Answer {
	var once []string
	for _, id := range a.Chosen {
		if !slices.Contains(once, id) {
			once = append(once, id)
		}
	}
	a.Text, a.Chosen = Plain(a.Text), once
	return a
}

// One is the option that was chosen; "" if the answer is a text.
func (a Answer) One() string {
	if len(a.Chosen) == 0 {
		return ""
	}
	return a.Chosen[0]
}

// Code says what is wrong with an answer.
type Code string

// The codes of a Problem.
const (
	Other       Code = "other-prompt"   // it answers another prompt
	Nothing     Code = "nothing"        // it is empty
	NoOption    Code = "no-option"      // an option that is not offered
	NotTogether Code = "not-together"   // options that do not go together
	NoText      Code = "no-text"        // words where only an option is an answer
	TooLong     Code = "too-long"       // more than MostText
	NoQuantity  Code = "not-a-quantity" // a text that is no number with a unit
)

// Problem is what is wrong with an answer. As JSON: {"code": "not-a-quantity",
// "at": 3, "text": "..."}.
type Problem struct {
	Code Code   `json:"code"`
	At   int    `json:"at,omitempty"` // the letter of the text at which it is wrong, from 1
	Text string `json:"text"`
}

func (p *Problem) Error() string { return p.Text }

// MostText bounds an answer in words, in bytes.
const MostText = 4096

// Check says what is wrong with an answer to this prompt; nil if it can be taken.
func (p *Prompt) Check(a Answer) *Problem {
	switch {
	case a.Prompt != p.ID:
		return &Problem{Code: Other, Text: "This answers something that is not asked any more."}
	case len(a.Chosen) > 0 && a.Text != "":
		return &Problem{Code: NotTogether, At: 1, Text: "Words do not go with what is chosen."}
	case len(a.Chosen) > 0:
		return p.checkChosen(a.Chosen)
	case p.Entry == nil && a.Text != "":
		return &Problem{Code: NoText, At: 1, Text: "Only what is offered is an answer here."}
	case a.Text == "" && (p.Entry == nil || p.Entry.Blank == ""):
		return &Problem{Code: Nothing, Text: "Nothing was answered."}
	case len(a.Text) > MostText:
		return &Problem{Code: TooLong, At: MostText, Text: "That is too long."}
	case a.Text != "" && p.Entry.Unit != "":
		_, problem := p.Entry.Read(a.Text)
		return problem
	}
	return nil
}

func (p *Prompt) checkChosen(chosen []string) *Problem {
	for _, id := range chosen {
		if id == Back && p.Back != "" && len(chosen) == 1 {
			return nil
		}
		i := slices.IndexFunc(p.Options, func(o Option) bool { return o.ID == id && o.Shows == nil })
		switch {
		case i < 0:
			return &Problem{Code: NoOption, Text: fmt.Sprintf("%q is not offered here.", Clip(id))}
		case len(chosen) > 1 && !p.Options[i].Together:
			return &Problem{Code: NotTogether, Text: fmt.Sprintf("%q does not go with another answer.", p.Options[i].Title)}
		}
	}
	return nil
}

// number is what a quantity begins with: a sign, figures, a decimal point or comma.
var number = regexp.MustCompile(`^([-+−]?)\s*([0-9]*[.,]?[0-9]*)\s*`)

// fraction is a number with a fraction behind it, as sizes are written.
var fraction = regexp.MustCompile(`^[0-9]+ [0-9]+/[0-9]+`)

// bare is a number without a unit.
var bare = regexp.MustCompile(`^[-+−]?[0-9 .,/]+$`)

// Written is an answer that Read takes as it stands in a file: with its unit.
func (e *Entry) Written(text string) string {
	if text = strings.Replace(strings.TrimSpace(text), ",", ".", 1); bare.MatchString(text) {
		return text + " " + e.Unit
	}
	return text
}

// Read reads a quantity in the unit of the entry, below zero too: a bare number
// is in that unit, another unit of the same kind is taken.
func (e *Entry) Read(text string) (float64, *Problem) {
	text = strings.TrimSpace(text)
	m := number.FindStringSubmatch(text)
	unit := cmp.Or(text[len(m[0]):], e.Unit)
	q, err := evidence.ParseQuantity(strings.Replace(m[2], ",", ".", 1)+" "+unit, e.Of)
	switch {
	case err == nil && m[1] != "" && m[1] != "+":
		return -q.In(e.Unit), nil
	case err == nil:
		return q.In(e.Unit), nil
	case fraction.MatchString(text): // "6 1/2", "6 1/2 in"
		if q, err := evidence.ParseQuantity(text, e.Of); err == nil {
			return q.In(e.Unit), nil
		}
		if q, err := evidence.ParseQuantity(text+" "+e.Unit, e.Of); err == nil {
			return q.In(e.Unit), nil
		}
	case strings.ContainsAny(m[2], "0123456789") && unit != e.Unit:
		at := utf8.RuneCountInString(m[0]) + 1
		return 0, &Problem{NoQuantity, at, fmt.Sprintf("%q is no unit here; expected %s.", Clip(unit), strings.Join(evidence.UnitNames(e.Of), ", "))}
	}
	return 0, &Problem{NoQuantity, 1, fmt.Sprintf("%q is no number of %s.", Clip(text), e.Unit)}
}

// Plain drops what is no text: control characters, marks that change how the
// rest is shown, and broken letters. A tab is a blank.
func Plain(text string) string {
	kept := strings.Map(func(r rune) rune {
		switch {
		case r == '\t':
			return ' '
		case unicode.In(r, unicode.Cc, unicode.Cf, unicode.Zl, unicode.Zp), r == utf8.RuneError:
			return -1
		}
		return r
	}, strings.ToValidUTF8(text, ""))
	return strings.TrimSpace(kept)
}

const longestEcho = 30

// Clip shortens an answer for a message.
func Clip(s string) string {
	if runes := []rune(s); len(runes) > longestEcho {
		return string(runes[:longestEcho]) + "..."
	}
	return s
}
