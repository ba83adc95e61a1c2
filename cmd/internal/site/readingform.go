package site

import (
	"errors"
	"fmt"
	"maps"
	"net/url"
	"slices"
	"strings"
	"time"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/prompt"
	"telltale/engine/chances"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/evidence/source"
)

// typed is what stands in the fields of a form, by their keys in the case file; those of
// lines have their number between ("stations.0.across").
type typed map[string]string

// form is a block of readings at one place of a job, over the case as it is now.
type form struct {
	*block
	at     evidence.Place
	again  bool
	job    string // its address
	file   *record.File
	k      *evidence.Case
	metric bool
	base   typed          // what the file has
	now    typed          // what stands in the fields
	rows   int            // of lines
	taken  evidence.Taken // as it is said in the form
	by     string
	wrong  map[string][]string // why a field is refused
	told   []string            // why all of it is refused
	since  []string            // what somebody changed since the form was made
}

// formOf is a form as the file has it.
func (s *Site) formOf(file *record.File, k *evidence.Case, b *block, at evidence.Place, again bool) (*form, error) {
	f := &form{block: b, at: at, again: again, job: jobAddress(file.Name()), file: file, k: k, wrong: map[string][]string{}}
	var err error
	if f.base, f.rows, err = f.values(file.Text()); err != nil {
		return nil, err
	}
	f.metric = f.isMetric()
	f.now = maps.Clone(f.base)
	return f, nil
}

// address is where the form is found.
func (f *form) address() string {
	of := readingsOf
	if f.again {
		of = readingsAgainOf
	}
	return f.job + "/" + of + "/" + f.Name + "/" + url.PathEscape(placeName(f.at))
}

// root is where the block stands in the case file.
func (f *form) root() []string {
	if f.Name == suctionBlock {
		return []string{suctionBlock}
	}
	out := []string{"measured", f.Name}
	if f.again {
		out[0] = "measured-again"
	}
	if f.at.Cylinder != "" {
		out = append(out, f.at.Cylinder)
	}
	return out
}

// values reads what a text of the case has in the fields, as it is written there, and
// how many lines.
func (f *form) values(text []byte) (typed, int, error) {
	out := typed{}
	if f.Name == shimsBlock {
		return out, 0, nil // each line of them is a new one
	}
	d, err := source.NewEditor(f.file.Name(), text)
	if err != nil {
		return nil, 0, err
	}
	for _, of := range f.AllFields() {
		if n := d.Get(append(f.root(), strings.Split(of.Key, ".")...)...); n != nil && n.Kind == source.Scalar {
			out[of.Key] = n.Text
		}
	}
	rows := 0
	if f.Lines != nil {
		if list := d.Get(append(f.root(), f.Lines.Key)...); list != nil {
			rows = len(list.Items)
			for i, line := range list.Items {
				for _, of := range f.Lines.Fields {
					if n := line.Value(of.Key); n != nil {
						out[f.LineKey(i, of)] = n.Text
					}
				}
			}
		}
	}
	return out, rows, nil
}

// isMetric says whether the crew reads in mm: as these readings are written, else others
// of the case, else the sizes of the pump.
func (f *form) isMetric() bool {
	for _, key := range []string{"resolution", "volume", "charge-pressure", "before.discharge", "mud-weight"} {
		if text := f.base[key]; text != "" {
			return evidence.Metric(text)
		}
	}
	m := &f.k.Measured
	methods := doc.Each(m.RodInOpening, func(r evidence.RodInOpening) evidence.Method { return r.Method })
	for _, list := range [][]evidence.Points{m.UpperGuide, m.RodFaceGap} {
		methods = append(methods, doc.Each(list, func(p evidence.Points) evidence.Method { return p.Method })...)
	}
	for _, method := range methods {
		return method.Resolution.Metric()
	}
	for _, q := range []*evidence.Quantity{f.k.Pump.Liner, f.k.Pump.Stroke} {
		if q != nil {
			return q.Metric()
		}
	}
	return false
}

// each calls for every field with its key, those of lines too.
func (f *form) each(do func(key string, of *field)) {
	for _, set := range f.Sets {
		for i := range set.Fields {
			do(set.Fields[i].Key, &set.Fields[i])
		}
	}
	if f.Lines == nil {
		return
	}
	for row := range f.shownRows() {
		for i := range f.Lines.Fields {
			do(f.LineKey(row, f.Lines.Fields[i]), &f.Lines.Fields[i])
		}
	}
}

// shownRows is how many lines the form has room for.
func (f *form) shownRows() int { return max(f.rows+1, f.Lines.Most) }

// mostTyped bounds what is typed in one field, in bytes.
const mostTyped = 200

// take takes in what was typed.
func (f *form) take(sent url.Values) {
	f.each(func(key string, of *field) {
		if name := fieldReading + key; sent.Has(name) {
			f.now[key] = written(of, sent.Get(name), f.metric)
		}
	})
	if sent.Has(fieldTaken) {
		f.taken = evidence.Taken(sent.Get(fieldTaken))
	}
	f.by = prompt.Plain(sent.Get(fieldBy))
	for name, values := range sent {
		if len(values) > 0 && len(values[0]) > mostTyped {
			f.told = append(f.told, fmt.Sprintf("What was typed in %s is too long: %d letters at most.", prompt.Clip(doc.Shown(name)), mostTyped))
		}
	}
}

// merge takes over what somebody changed since the form was made; what was typed in it
// stays.
func (f *form) merge(was []byte, known bool) error {
	if !known {
		f.since = []string{"what changed is not known any more: the program was started again since"}
		return nil
	}
	before, _, err := f.values(was)
	if err != nil {
		return err
	}
	for _, c := range record.Changes(was, f.file.Text()) {
		f.since = append(f.since, doc.Shown(c.String()))
	}
	f.each(func(key string, _ *field) {
		if f.now[key] == before[key] {
			f.now[key] = f.base[key]
		} else if f.base[key] != before[key] && f.base[key] != f.now[key] {
			f.wrong[key] = append(f.wrong[key], "Somebody wrote here meanwhile: "+doc.Shown(orNothing(f.base[key]))+". What you typed is kept; look which is right.")
		}
	})
	return nil
}

func orNothing(text string) string {
	if text == "" {
		return "nothing"
	}
	return text
}

// asksTaken says whether the case needs to know when this was taken.
func (f *form) asksTaken() bool {
	return !f.again && f.k.Pump.State == evidence.Running && f.file.Words().CoversOff[f.Name]
}

// left says whether anything of the block is left by what stands in the fields.
func (f *form) left(now typed) bool {
	left := false
	f.each(func(key string, of *field) {
		left = left || now[key] != "" && (of.Reading || strings.HasPrefix(key, "second-plane."))
	})
	return left
}

// edits are those that make the file say what stands in the fields, and how note would
// say it.
func (f *form) edits(now typed) (out []record.Edit, said string) {
	set := record.SetMeasured
	if f.again {
		set = record.SetMeasuredAgain
	}
	noted := f.root()
	switch {
	case f.Name == shimsBlock:
		return f.shims(now)
	case f.Name == suctionBlock:
		set = func(value string, path ...string) record.Edit { return record.SetSuction(value, path[0]) }
	}
	path := f.root()[1:]
	if !f.left(now) && len(f.base) > 0 {
		return []record.Edit{f.without(set, path)}, strings.Join(append(noted, `""`), " ")
	}
	for _, of := range f.AllFields() {
		if value := now[of.Key]; value != f.base[of.Key] {
			out = append(out, set(value, slices.Concat(path, strings.Split(of.Key, "."))...))
			noted = append(noted, of.Key+"="+value)
		}
	}
	if f.Lines != nil {
		var lines []map[string]string
		var keys []string
		changed := false
		for _, of := range f.Lines.Fields {
			keys = append(keys, of.Key)
		}
		for row := range f.shownRows() {
			line, any := map[string]string{}, false
			for _, of := range f.Lines.Fields {
				key := f.LineKey(row, of)
				line[of.Key] = now[key]
				any = any || now[key] != ""
				if now[key] != f.base[key] {
					changed = true
					noted = append(noted, key+"="+now[key])
				}
			}
			if any {
				lines = append(lines, line)
			}
		}
		if changed {
			out = append(out, record.SetLines(lines, keys, append(f.root(), f.Lines.Key)...))
		}
	}
	return out, strings.Join(noted, " ")
}

// without takes the whole block out.
func (f *form) without(set func(string, ...string) record.Edit, path []string) record.Edit {
	if f.Name == suctionBlock {
		return record.SetLines(nil, nil, suctionBlock)
	}
	return set("", path...)
}

// shims is a line of what was put under a guide or taken out.
func (f *form) shims(now typed) ([]record.Edit, string) {
	noted := []string{shimsBlock, f.at.String()}
	pack := func(what string) *record.Pack {
		p := &record.Pack{Rear: now[what+".rear"], Front: now[what+".front"]}
		if *p == (record.Pack{}) {
			return nil
		}
		noted = append(noted, doc.Said(what, p.Rear, p.Front)...)
		return p
	}
	in, out := pack("put-in"), pack("taken-out")
	if in == nil && out == nil {
		return nil, ""
	}
	return []record.Edit{record.Shims(f.at, in, out)}, strings.Join(noted, " ")
}

// time is the edit that says when this was taken, where that is another time than the
// case has; none where it is not said.
func (f *form) time() []record.Edit {
	if !f.asksTaken() || f.taken == "" || f.taken == f.k.TakenAt(f.Name) {
		return nil
	}
	return []record.Edit{record.SetTaken(f.taken, f.Name)}
}

// all are the edits of the form with when it was taken and who says so.
func (f *form) all(now typed, at time.Time) []record.Edit {
	edits, said := f.edits(now)
	if time := f.time(); len(time) > 0 && len(edits)+len(f.base) > 0 {
		edits, said = append(edits, time...), said+"; taken "+string(f.taken)
	}
	if f.by != "" && len(edits) > 0 {
		edits = append(edits, record.AddLog(evidence.LogEntry{At: evidence.Stamp(at), By: f.by, Did: "noted: " + said}))
	}
	return edits
}

// would is the case as it would be.
func (s *Site) would(f *form, now typed) (*evidence.Case, error) {
	edits, _ := f.edits(now)
	_, k, err := record.Apply(f.file.Name(), f.file.Text(), f.file.Words(), append(edits, f.time()...)...)
	if err != nil {
		return nil, err
	}
	return k, chances.Accepts(s.book, f.k, k)
}

// judge tries what stands in the fields. What is refused is told beside its field, or
// above all where it is none of one field alone; it gives the case as it would be without
// the fields that are refused, nil where none can be.
func (s *Site) judge(f *form) (*evidence.Case, error) {
	if !slices.Contains(append(evidence.TakenTimes(), ""), string(f.taken)) {
		f.taken = ""
	}
	k, err := s.would(f, f.now)
	problems := problemsOf(err)
	switch {
	case err == nil:
		return k, nil
	case problems == nil:
		var input *source.InputError
		var damaged *record.DamagedError
		if errors.As(err, &damaged) || !errors.As(err, &input) {
			return nil, err
		}
		f.told = append(f.told, texts(input)...)
		return nil, nil
	}
	blamed := map[string]bool{}
	good := maps.Clone(f.now)
	f.each(func(key string, _ *field) {
		for _, p := range problems {
			if p.Code == source.Missing && strings.HasSuffix(p.Text, fmt.Sprintf("has no %q", last(key))) && f.now[key] == "" {
				f.wrong[key], blamed[p.Text] = append(f.wrong[key], p.Text), true
			}
		}
		if f.now[key] == f.base[key] {
			return
		}
		trial := maps.Clone(f.now)
		trial[key] = f.base[key]
		_, err := s.would(f, trial)
		still := count(problemsOf(err))
		for text, n := range count(problems) {
			if still[text] < n {
				f.wrong[key], blamed[text] = append(f.wrong[key], text), true
				good[key] = f.base[key]
			}
		}
	})
	for _, p := range problems {
		if !blamed[p.Text] && !slices.Contains(f.told, p.Text) {
			f.told = append(f.told, p.Text)
		}
	}
	if k, err = s.would(f, good); err != nil {
		return nil, nil // it was told why
	}
	return k, nil
}

// problemsOf are the mistakes for which an edit was refused.
func problemsOf(err error) []source.Problem {
	var refused *record.RefusedError
	if !errors.As(err, &refused) {
		return nil
	}
	return refused.Err.Problems
}

func texts(err *source.InputError) []string {
	return doc.Each(err.Problems, func(p source.Problem) string { return p.Text })
}

func count(problems []source.Problem) map[string]int {
	out := map[string]int{}
	for _, p := range problems {
		out[p.Text]++
	}
	return out
}

// last is the last part of a key.
func last(key string) string { return key[strings.LastIndex(key, ".")+1:] }

// have says what of a form is in the file, in both systems.
func (f *form) have() (out []string) {
	if f.Name == shimsBlock {
		for _, s := range f.k.Shims {
			if s.Place == f.at {
				out = append(out, fmt.Sprintf("rear %+.3g mm, front %+.3g mm", 1000*s.Rear, 1000*s.Front))
			}
		}
		return out
	}
	for _, set := range f.Sets {
		var said []string
		for _, of := range set.Fields {
			if text := f.base[of.Key]; text != "" && of.Reading {
				said = append(said, strings.ToLower(of.Label[:1])+of.Label[1:]+" "+both(of, text))
			}
		}
		if len(said) > 0 {
			lead := ""
			if set.Legend != "" {
				lead = set.Legend + ": "
			}
			out = append(out, lead+strings.Join(said, ", "))
		}
	}
	for row := range f.rows {
		var said []string
		for _, of := range f.Lines.Fields {
			if text := f.base[f.LineKey(row, of)]; text != "" {
				said = append(said, of.Label+" "+both(of, text))
			}
		}
		out = append(out, fmt.Sprintf("%s %d: %s", f.Lines.Each, row+1, strings.Join(said, ", ")))
	}
	return doc.Each(out, doc.Shown)
}

// both is a figure of the file with the other system beside it.
func both(f field, text string) string {
	if f.In.Of == evidence.Length {
		if r, err := evidence.ParseReading(text); err == nil {
			return r.String()
		}
	}
	if q, err := evidence.ParseQuantity(text, f.In.Of); f.In.Of != "" && err == nil {
		return q.String()
	}
	return text
}

// asSister fills in how readings are taken as it stands at another place of the block.
func (f *form) asSister() {
	for _, at := range f.k.Pump.Places(f.Level) {
		sister := *f
		sister.at = at
		values, _, err := sister.values(f.file.Text())
		if err != nil || values["resolution"] == "" {
			continue
		}
		for _, key := range []string{"resolution", "each-reading-is", "with"} {
			f.now[key] = values[key]
		}
		return
	}
}
