package pages

import (
	"fmt"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/words"
	"telltale/engine/hear"
	"telltale/evidence"
	"telltale/rules"
)

// Heard is what was understood of a told story, in the book's words.
func Heard(book *rules.Book, s *hear.Story) *doc.Document {
	d := &doc.Document{Title: "What was understood"}
	var sure, pick, kept []doc.Item
	for i := range s.Heard {
		h := &s.Heard[i]
		item := doc.Item{Text: HeardLine(book, h), Below: doc.Items(doc.Said(fmt.Sprintf("Said: %q", h.Words))...)}
		switch {
		case h.Is == hear.IsGuess:
			kept = append(kept, item)
		case h.Strength == hear.Strong:
			sure = append(sure, item)
		default:
			for _, o := range h.Others {
				item.Below = append(item.Below, doc.Item{Text: "or: " + OtherLine(book, o)})
			}
			pick = append(pick, item)
		}
	}
	d.Add(
		doc.Section{Heading: "Understood", Parts: []doc.Part{{Items: sure}}},
		doc.Section{Heading: "Which of these is meant?", Parts: []doc.Part{{Items: pick}}},
		doc.Section{Heading: "Guesses, kept and not weighed", Parts: []doc.Part{{Items: kept}}},
		doc.Section{Heading: "Not understood", Parts: []doc.Part{doc.List(s.NotHeard...)}})
	return d
}

// HandsInside is what comes before all else where a story tells that hands were inside
// or a cover was off while the pump ran.
const HandsInside = "DANGER: by these words a cover was off or a hand inside while the pump ran. If it runs, stop it now and lock it off."

// HeardLine says what was understood in the book's words.
func HeardLine(book *rules.Book, h *hear.Heard) string {
	if h.Is == hear.IsGuess {
		return "A guess: " + h.Words
	}
	out := otherLine(book, h.Is, h.ID, h.Kind, h.Answer)
	if len(h.Places) > 0 {
		out += ": " + words.Places(h.Places, map[bool]string{true: " or ", false: " and "}[h.OneOf])
	}
	if len(h.Figures) > 0 {
		out += ": " + figuresSaid(h.Figures)
	}
	return out
}

// OtherLine says what else words may mean.
func OtherLine(book *rules.Book, o hear.Other) string {
	return otherLine(book, o.Is, o.ID, o.Kind, o.Answer)
}

func otherLine(book *rules.Book, is hear.Is, id, kind, answer string) string {
	switch is {
	case hear.IsWork:
		title := book.Works.Get(id).Title
		switch {
		case kind == hear.NotCured:
			return "Done, and it did not help: " + title
		case kind == hear.Cured:
			return "Done, and it helped: " + title
		case answer == string(evidence.Absent):
			return "Not done: " + title
		}
		return "Done: " + title
	case hear.IsCheck:
		title := book.Checks.Get(id).Title
		if answer != string(evidence.Present) {
			return "Not checked: " + title
		}
		return "Checked: " + title
	case hear.IsReading:
		return "Reading"
	}
	s := book.Signs.Get(id)
	switch answer {
	case string(evidence.Absent):
		return "No: " + s.Title
	case string(evidence.Present):
		return s.Title + kindSaid(s, kind)
	}
	return "Not known: " + s.Title
}

func kindSaid(s *rules.Sign, kind string) string {
	if kind == "" {
		return ""
	}
	return " (" + s.KindTitle(kind) + ")"
}

func figuresSaid(figures []hear.Figure) string {
	return strings.Join(doc.Each(figures, func(f hear.Figure) string {
		return fmt.Sprintf("%s%g %s", doc.If(f.Was, "was "), f.Value, f.Unit)
	}), ", ")
}
