package site

import (
	"errors"
	"fmt"
	"html/template"
	"maps"
	"net/http"
	"slices"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/pages"
	"telltale/cmd/internal/words"
	"telltale/engine"
	"telltale/evidence"
	"telltale/evidence/source"
)

// says is what the readings of a form come to, as a page with its picture; where the
// case cannot be worked out the stop conditions alone, and why.
func (s *Site) says(f *form, k *evidence.Case) (d *doc.Document, why string) {
	if k == nil || f.Name == shimsBlock {
		return &doc.Document{}, ""
	}
	if f.again {
		after := *k
		after.Measured, after.Taken = k.MeasuredAgain, maps.Clone(k.Taken)
		if after.Taken == nil {
			after.Taken = map[string]evidence.Taken{}
		}
		after.Taken[f.Name] = evidence.AtLastStop // before the pump went back to service
		k = &after
	}
	in := pages.Input{Book: s.book, Case: k}
	var err error
	in.Measured, err = engine.Measure(s.book, k)
	var input *source.InputError
	switch {
	case errors.As(err, &input):
		return pages.StopBox(in.Measured), strings.Join(texts(input), " ")
	case err != nil:
		return pages.StopBox(in.Measured), err.Error()
	}
	return pages.Readings(in, f.Name, f.at), ""
}

func placeWords(at evidence.Place) string {
	if at.Cylinder == "" {
		return "the pump"
	}
	return words.Place(at)
}

// readingsBody is the page of all readings of a job.
type readingsBody struct {
	Title, Job   string
	First, Again []shownBlock
}

// There says whether anything was measured again.
func (b readingsBody) There() bool {
	return slices.ContainsFunc(b.Again, func(s shownBlock) bool {
		return slices.ContainsFunc(s.Places, func(p shownPlace) bool { return len(p.Have) > 0 })
	})
}

type shownBlock struct {
	Title  string
	Places []shownPlace
}

type shownPlace struct {
	Name, Address string
	Have          []string
}

// readingBody is the page of a form.
type readingBody struct {
	Title, Job, All, Address, Rests string
	How                             string
	Written                         bool
	Next                            string
	Sets                            []shownSets
	Taken                           []option // none where it is not asked
	TakenWrong                      []string
	By                              string
	Since, Told                     []string
	Draws                           bool
	Drawn                           drawn
}

// drawn is what was typed as a picture, with what it says.
type drawn struct {
	Says  string
	Wrong []string // what is not drawn, and why
	Page  template.HTML
}

// shownSet are fields that belong together, as the page shows them.
type shownSet struct {
	Legend string
	Fields []shownField
}

// shownSets stand beside each other, under an aside that can be opened or without.
type shownSets struct {
	Aside string
	Open  bool
	Sets  []shownSet
}

type shownField struct {
	Name, ID, Label, Unit, Hint, Value string
	Whole                              bool // takes a line for itself
	Options                            []option
	Wrong                              []string
}

// mostLabel is how long a label may be that stands beside others.
const mostLabel = 16

type option struct {
	Value, Text string
	Chosen      bool
}

func (s *Site) drawn(f *form, k *evidence.Case) (drawn, error) {
	d, why := s.says(f, k)
	out := drawn{Says: strings.Join(d.Lines, " "), Wrong: append(slices.Clone(f.told), doc.Said(why)...)}
	f.each(func(key string, of *field) {
		for _, why := range f.wrong[key] {
			out.Wrong = append(out.Wrong, f.labelOf(key, of)+": "+why)
		}
	})
	var err error
	out.Page, err = part(d)
	return out, err
}

// labelOf names a field where it stands alone.
func (f *form) labelOf(key string, of *field) string {
	for _, set := range f.Sets {
		for _, other := range set.Fields {
			if other.Key == key && set.Legend != "" {
				return set.Legend + ", " + of.Label
			}
		}
	}
	if f.Lines != nil && strings.HasPrefix(key, f.Lines.Key+".") {
		row := 0
		_, _ = fmt.Sscanf(key[len(f.Lines.Key):], ".%d.", &row)
		return fmt.Sprintf("%s %d, %s", f.Lines.Each, row+1, of.Label)
	}
	return of.Label
}

// putReadings shows a form.
func (s *Site) putReadings(w http.ResponseWriter, status int, f *form, k *evidence.Case, body readingBody) error {
	var err error
	if body.Drawn, err = s.drawn(f, k); err != nil {
		return err
	}
	body.Title = words.Titled(f.Title(), f.at)
	if f.again {
		body.Title += ", after the correction"
	}
	body.Job, body.All, body.Address = withBy(f.job, f.by), withBy(f.job+"/"+readingsOf, f.by), f.address()
	body.Rests, body.How, body.Draws = s.seen.put(f.file.Text()), pages.BlockHow(f.Name), f.Name != shimsBlock
	body.Since, body.Told, body.By = f.since, f.told, f.by
	body.TakenWrong = f.wrong[fieldTaken]
	if f.asksTaken() {
		body.Taken = []option{
			{string(evidence.AtLastStop), "at the last stop, behind the isolation", f.taken == evidence.AtLastStop},
			{string(evidence.WhileRunning), "while it runs, beside moving parts: such a reading is not used", f.taken == evidence.WhileRunning},
		}
	}
	for _, set := range f.Sets {
		if n := len(body.Sets); n == 0 || body.Sets[n-1].Aside != set.Aside {
			body.Sets = append(body.Sets, shownSets{Aside: set.Aside})
		}
		beside := &body.Sets[len(body.Sets)-1]
		shown := shownSet{Legend: set.Legend}
		for i := range set.Fields {
			field := f.shown(s, set.Fields[i].Key, &set.Fields[i])
			beside.Open = beside.Open || field.Value != "" || len(field.Wrong) > 0
			shown.Fields = append(shown.Fields, field)
		}
		beside.Sets = append(beside.Sets, shown)
	}
	if f.Lines != nil {
		list := shownSets{}
		for row := range f.shownRows() {
			shown := shownSet{Legend: fmt.Sprintf("%s %d", f.Lines.Each, row+1)}
			if row == 0 {
				shown.Legend = f.Lines.Legend + ". " + shown.Legend
			}
			for i := range f.Lines.Fields {
				shown.Fields = append(shown.Fields, f.shown(s, f.LineKey(row, f.Lines.Fields[i]), &f.Lines.Fields[i]))
			}
			list.Sets = append(list.Sets, shown)
		}
		body.Sets = append(body.Sets, list)
	}
	return s.show(w, status, "reading", shell{Title: body.Title, Pages: jobWays(f.job, readingsOf, f.by), Body: body})
}

// shown is a field as the page shows it.
func (f *form) shown(s *Site, key string, of *field) shownField {
	out := shownField{
		Name: fieldReading + key, ID: "f-" + strings.ReplaceAll(key, ".", "-"), Label: words.Capital(of.Label), Hint: of.Hint,
		Value: f.now[key], Wrong: f.wrong[key],
	}
	if of.In.Of != "" {
		out.Unit = of.In.Unit(f.metric)
	}
	out.Whole = len(out.Label) > mostLabel
	choices, said := of.Words, of.Said
	if of.Key == "mud" {
		choices, said = s.book.Muds.IDs(), doc.Each(s.book.Muds.IDs(), func(id string) string { return s.book.Muds.Get(id).Title })
	}
	if len(choices) > 0 {
		out.Whole = true
		out.Options = []option{{Text: "not said", Chosen: out.Value == ""}}
		for i, word := range choices {
			out.Options = append(out.Options, option{word, said[i], word == out.Value})
		}
		if out.Value != "" && !slices.Contains(choices, out.Value) {
			out.Options = append(out.Options, option{out.Value, out.Value, true})
		}
	}
	return out
}
