package pages

import (
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/engine/work"
	"telltale/rules"
)

// naming is a line that names entries of a kind.
func naming(text, kind string, ids ...string) doc.Item {
	return doc.Item{Text: text, To: doc.Each(ids, func(id string) doc.Ref { return doc.Ref{Kind: kind, ID: id} })}
}

// titled is what names an entry by its title.
func titled(kind, id, title string) doc.Ref { return doc.Ref{Kind: kind, ID: id, Words: title} }

// of is a line that names an entry by its title.
func of(text, kind, id, title string) doc.Item {
	return doc.Item{Text: text, To: []doc.Ref{titled(kind, id, title)}}
}

// behind is a line behind a few words of weight.
func behind(strong string, line doc.Item) doc.Item {
	line.Strong = strong
	return line
}

// entryOf is the entry of the book that a step is done by. What is due may be none,
// and a step back to service may close an opening.
func entryOf(kind, id, title string) []doc.Ref {
	if kind == work.StepDue || kind == work.StepReturn {
		return nil
	}
	return []doc.Ref{titled(kind, id, title)}
}

// ids is a line of nothing but entries of a kind.
func ids(kind string, ids []string) doc.Item { return naming(list(ids), kind, ids...) }

// oneLine makes one line of several.
func oneLine(between string, lines ...doc.Item) (out doc.Item) {
	out.Text = strings.Join(doc.Each(lines, func(l doc.Item) string { return l.Text }), between)
	for _, l := range lines {
		out.To = append(out.To, l.To...)
	}
	return out
}

// source is a condition as it stands in the book.
func source(when *rules.Condition) doc.Item {
	return doc.Item{Text: when.Source, To: doc.Each(when.Names, func(n rules.Name) doc.Ref { return doc.Ref{Kind: strings.TrimSuffix(n.Of, "s"), ID: n.ID} })}
}

// prose is a text of the book, which may ask for the figures of limits.
func prose(text string) doc.Item { return naming(text, "limit", rules.LimitsIn(text)...) }

// lead puts words before a line.
func lead(words string, line doc.Item) doc.Item {
	line.Text = words + line.Text
	return line
}
