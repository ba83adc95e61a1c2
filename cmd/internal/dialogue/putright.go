package dialogue

import (
	"slices"

	"telltale/cmd/internal/prompt"
	"telltale/engine/hear"
	"telltale/evidence"
	"telltale/rules"
)

// What can be said of a line that is not right: another answer, another place,
// another kind.

// answersBeside are the other answers to what a line is about.
func (r *round) answersBeside(h hear.Heard) (out []hear.Heard) {
	add := func(answer, kind string) {
		other := h
		other.Answer, other.Kind = answer, kind
		if answer != h.Answer || h.Is == hear.IsWork && kind != h.Kind {
			out = append(out, other)
		}
	}
	switch h.Is {
	case hear.IsSign:
		add(string(evidence.Absent), "")
		add(string(evidence.Present), "")
		add(string(evidence.Unknown), "")
	case hear.IsWork:
		add(string(evidence.Present), "")
		add(string(evidence.Present), hear.NotCured)
		add(string(evidence.Present), hear.Cured)
	case hear.IsCheck:
		add(string(evidence.Present), "")
		add(string(evidence.Absent), "")
	}
	return out
}

// placesBeside are the places where a sign can be instead; none where there is one
// only.
func (r *round) placesBeside(h hear.Heard) []evidence.Place {
	if h.Is != hear.IsSign {
		return nil
	}
	if places := r.k.Pump.Places(r.Book.Signs.Get(h.ID).Level); len(places) > 1 {
		return places
	}
	return nil
}

// ofKinds says whether what is there may be of another kind.
func ofKinds(book *rules.Book, h hear.Heard) bool {
	return h.Is == hear.IsSign && h.Answer == string(evidence.Present) && len(book.Signs.Get(h.ID).Kinds) > 0
}

// elsewhere asks where something was seen, before the rest of what was told.
func (r *round) elsewhere(h hear.Heard, places []evidence.Place, without Tale, rest []hear.Heard) turn {
	p := prompt.Prompt{ID: "where " + h.ID, Ask: "Where?"}
	for _, place := range places {
		p.Options = append(p.Options, placeOption(place, true))
	}
	p.Options = append(p.Options, aside("all", "all of them"))
	if h.Answer == string(evidence.Present) {
		p.Options = append(p.Options, aside("unknown", "there, don't know where"))
	}
	return several(p, func(ids []string) turn {
		h.OneOf = false
		switch ids[0] {
		case "all":
			h.Places = places
		case "unknown":
			h.Places = []evidence.Place{}
		default:
			h.Places, _ = parted(places, ids)
		}
		return r.saidSo(without, h, rest)
	})
}

// otherKind asks of which kind something is.
func (r *round) otherKind(h hear.Heard, without Tale) turn {
	s := r.Book.Signs.Get(h.ID)
	p := prompt.Prompt{ID: "kind " + s.ID, About: about("sign", s.ID, h.Places...), Ask: "How?"}
	others := slices.DeleteFunc(kinds(s), func(o prompt.Option) bool { return o.ID == h.Kind })
	return howKind(p, others, func(kind string) turn {
		if h.Kind = kind; kind == string(evidence.Present) {
			h.Kind = ""
		}
		return r.saidSo(without, h, nil)
	})
}

// saidSo takes what the crew said of a line into the tale, before the rest.
func (r *round) saidSo(tale Tale, h hear.Heard, rest []hear.Heard) turn {
	h.Strength = hear.Strong
	return r.take(tale, append([]hear.Heard{h}, rest...))
}
