package dialogue

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"telltale/cmd/internal/pages"
	"telltale/cmd/internal/prompt"
	"telltale/engine/hear"
	"telltale/evidence"
)

// tell asks for what was seen in the crew's own words. Who would rather pick from
// a list can.
func (r *round) tell(question, blank string) turn {
	p := prompt.Prompt{
		ID: "tell", Ask: question, Back: backOne, Leave: leave,
		Entry:   &prompt.Entry{Blank: blank},
		Options: []prompt.Option{aside("list", "pick from a list")},
	}
	return turn{Prompt: p, Take: func(a prompt.Answer) turn {
		switch {
		case a.One() == "list":
			return r.notice("What was noticed?", "")
		case a.Text == "":
			return r.nothingNoticed()
		}
		return r.hear(a.Text)
	}}
}

// anythingElse asks on until there is nothing more to tell.
func (r *round) anythingElse() turn {
	t := r.tell("Anything else? Tell it in your own words.", "says that there is nothing more")
	take := t.Take
	t.Take = func(a prompt.Answer) turn {
		if a.Text == "" && len(a.Chosen) == 0 {
			return prompt.End(end{note: func(s *State) { s.Telling = false }})
		}
		return noted(take(a), func(s *State) { s.Telling = s.Telling || a.One() == "list" })
	}
	return t
}

// hear goes once through what was told: where several things may be meant the
// crew picks, then all is shown to be agreed to. Nothing is written before.
func (r *round) hear(text string) turn {
	if len(text) > hear.LongestStory {
		return say("That is too long to be heard at once.")
	}
	story := r.listener().Hear(text, r.k.Pump.Layout)
	if len(story.Heard) == 0 && r.s.Telling {
		return writeThen(func(s *State) {}, r.log("told, not understood: "+text))
	}
	if len(story.Heard) == 0 {
		again := r.tell("Tell it in other words.", "goes on without it")
		again.News = prompt.Lines(prompt.Text, "Nothing in these words was understood: "+text)
		return again
	}
	return r.pick(text, &story, 0, nil)
}

// withWords lets the crew tell something instead of answering.
func (r *round) withWords(t turn) turn {
	if r.k == nil || t.Take == nil || t.Entry != nil || len(t.Options) == 0 {
		return t
	}
	take := t.Take
	t.Entry = &prompt.Entry{Beside: true}
	t.Take = func(a prompt.Answer) turn {
		if a.Text != "" {
			return r.hear(a.Text)
		}
		return take(a)
	}
	return t
}

// listener hears by the book's lexicon; it is made when it is first needed.
func (t *Talk) listener() *hear.Listener {
	if t.ear == nil {
		t.ear = hear.New(t.Book)
	}
	return t.ear
}

// mostMeant is how many things are offered where several may be meant.
const mostMeant = 3

// pick asks which of several things is meant, for one statement after the other.
func (r *round) pick(text string, story *hear.Story, at int, agreed []hear.Heard) turn {
	for ; at < len(story.Heard); at++ {
		h := story.Heard[at]
		if h.Strength == hear.Strong || h.Is == hear.IsGuess || h.Is == hear.IsReading {
			agreed = append(slices.Clip(agreed), h)
			continue
		}
		return r.whichMeant(h, func(meant *hear.Heard) turn {
			if meant == nil {
				return r.pick(text, notTaken(story, h), at+1, agreed)
			}
			return r.pick(text, story, at+1, append(slices.Clip(agreed), *meant))
		})
	}
	return r.agree(text, story, agreed)
}

func notTaken(story *hear.Story, h hear.Heard) *hear.Story {
	out := *story
	out.NotHeard = append(slices.Clip(out.NotHeard), h.Words)
	return &out
}

func (r *round) whichMeant(h hear.Heard, take func(*hear.Heard) turn) turn {
	meant := []hear.Heard{h}
	for _, o := range h.Others {
		if len(meant) < mostMeant {
			other := h
			other.Is, other.ID, other.Kind, other.Answer = o.Is, o.ID, o.Kind, o.Answer
			meant = append(meant, other)
		}
	}
	p := prompt.Prompt{ID: fmt.Sprintf("meant %d %s", h.Start, h.Answer), Body: prompt.Lines(prompt.Block, fmt.Sprintf("%q: what is meant?", h.Words))}
	for i, m := range meant {
		p.Options = append(p.Options, option(strconv.Itoa(i+1), pages.HeardLine(r.Book, &m)))
	}
	p.Options = append(p.Options, aside("none", "none of these; it is kept in your words"))
	return ask(p, func(id string) turn {
		if i, err := strconv.Atoi(id); err == nil {
			return take(&meant[i-1])
		}
		return take(nil)
	})
}

// agree shows all that is to be written; what is struck out is not.
func (r *round) agree(text string, story *hear.Story, agreed []hear.Heard) turn {
	p := prompt.Prompt{ID: "agree", Body: prompt.Lines(prompt.Block, "Understood:"), Ask: "Is that right? What is wrong can be struck out."}
	for i, h := range agreed {
		o := option("strike "+strconv.Itoa(i+1), pages.HeardLine(r.Book, &h)+r.against(h)+r.whenSeen(h))
		o.Together = true
		p.Options = append(p.Options, o)
	}
	if len(story.NotHeard) > 0 {
		p.Body = append(prompt.Lines(prompt.Block, "Not understood, kept in your words: "+strings.Join(story.NotHeard, "; ")), p.Body...)
	}
	p.Options = append(p.Options, aside("yes", "yes, write it down"))
	return several(p, func(ids []string) turn {
		if ids[0] == "yes" {
			return writeThen(func(s *State) { s.Telling = true }, Told(r.Book, r.k, text, story, agreed, r.log)...)
		}
		left := slices.Clone(agreed)
		for i := len(left) - 1; i >= 0; i-- {
			if slices.Contains(ids, "strike "+strconv.Itoa(i+1)) {
				left = slices.Delete(left, i, i+1)
			}
		}
		return r.agree(text, story, left)
	})
}

// whenSeen says that something counts as seen at the last stop.
func (r *round) whenSeen(h hear.Heard) string {
	if SeenAtLastStop(r.Book, r.k, h) {
		return " (as seen at the last stop; nobody opens a running pump)"
	}
	return ""
}

// against says what the case has of the sign so far, where that is another answer.
func (r *round) against(h hear.Heard) string {
	if h.Is != hear.IsSign {
		return ""
	}
	for _, f := range r.k.Findings {
		if f.Sign == h.ID && string(f.Answer) != h.Answer && h.Answer != evidence.Unknown && (len(h.Places) == 0 || f.At == (evidence.Place{}) || slices.ContainsFunc(h.Places, f.At.Touches)) {
			return " (so far it was: " + string(f.Answer) + ")"
		}
	}
	return ""
}
