package hear

import (
	"telltale/evidence"
)

// Is says what a statement is about.
type Is string

// What a statement can be about.
const (
	IsSign    Is = "sign"
	IsWork    Is = "work"
	IsCheck   Is = "check"
	IsReading Is = "reading"
	IsGuess   Is = "guess" // kept as said, and not weighed
)

// Strength says how well the words fit what was understood.
type Strength string

// The strengths. Only a strong one may be offered as understood; one that is not,
// but clear, with the words that it rests on; of the others the crew picks.
const (
	Strong Strength = "strong"
	Fair   Strength = "fair"
	Weak   Strength = "weak"
)

// What is told of a work besides that it was done.
const (
	Cured    = "cured"
	NotCured = "not-cured"
)

// Heard is one thing that was understood.
type Heard struct {
	Words    string           `json:"words"` // as said
	Is       Is               `json:"is"`
	ID       string           `json:"id"`     // of the sign, the work, the check or the reading; "" of a guess
	Kind     string           `json:"kind"`   // of the sign; of a work "cured" or "not-cured"; "" if it was not told
	Answer   string           `json:"answer"` // present, absent or unknown; of a work or a check: done, not done, unknown
	Places   []evidence.Place `json:"places"` // where; none: not told, or the whole pump
	OneOf    bool             `json:"one_of"` // at one of the places, nobody said which
	Figures  []Figure         `json:"figures"`
	Strength Strength         `json:"strength"`
	Because  string           `json:"because"` // the words that it rests on, and what was carried on
	Others   []Other          `json:"others"`  // what it may be instead, the nearest first

	// Taken is when it was seen, by the words of its sentence; "" where they do not say.
	// It counts for what needs covers off.
	Taken evidence.Taken `json:"-"`

	// Clear: it is well ahead of all else that the words may say. Carried: it rests on
	// words said before as much as on these.
	Clear   bool `json:"-"`
	Carried bool `json:"-"`

	Start int `json:"-"` // bytes of the story
	End   int `json:"-"`
	score float64
}

// Figure is a number with a unit, as told.
type Figure struct {
	What  string  `json:"what"` // discharge, charge-pressure, speed, or "" where nobody said of what
	Value float64 `json:"value"`
	Unit  string  `json:"unit"` // psi, bar, kPa, strokes/min
	// Was: it was so before; else it is so now, or nobody said.
	Was bool `json:"was"`
	// Change: it is by how much it changed.
	Change bool `json:"change"`
}

// Other is another thing that the same words may say.
type Other struct {
	Is       Is               `json:"is"`
	ID       string           `json:"id"`
	Kind     string           `json:"kind"`
	Answer   string           `json:"answer"`
	Places   []evidence.Place `json:"places"` // where that would be
	OneOf    bool             `json:"one_of"`
	Strength Strength         `json:"strength"`
}

// Instead is the statement as another thing that its words may say.
func (h Heard) Instead(o Other) Heard {
	h.Is, h.ID, h.Kind, h.Answer, h.Places, h.OneOf = o.Is, o.ID, o.Kind, o.Answer, o.Places, o.OneOf
	return h
}

// Story is what was understood of one story.
type Story struct {
	Heard    []Heard  `json:"heard"`
	NotHeard []string `json:"not_heard"` // words that carry meaning and were not understood
}
