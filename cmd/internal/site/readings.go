package site

import (
	"errors"
	"fmt"
	"html/template"
	"maps"
	"net/http"
	"net/url"
	"path"
	"slices"
	"strings"
	"sync"
	"time"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/pages"
	"telltale/cmd/internal/prompt"
	"telltale/cmd/internal/words"
	"telltale/engine"
	"telltale/engine/chances"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/evidence/source"
)

// Readings are typed in by the same edits as note makes; they are drawn, with what they
// say, before anything is written.

// The addresses below a job: of what was measured, and of what was measured again after
// a repair. A block of the whole pump has pumpPlace as its place.
const (
	readingsOf      = "readings"
	readingsAgainOf = "readings-again"
	pumpPlace       = "pump"
)

// The fields of a form of readings; those of the case file have fieldReading before
// their key.
const (
	fieldReading = "f."
	fieldTaken   = "taken"
	fieldBy      = "by"
	fieldDo      = "do"
	doWrite      = "write"
)

// mostSeen is how many texts of cases are remembered, so that a form of one can say what
// changed since, and mostBytes of how many bytes together.
const (
	mostSeen  = 400
	mostBytes = 32 << 20
)

// seen are the texts that forms were made from, by their digest.
type seen struct {
	sync.Mutex
	texts map[string][]byte
	order []string
	bytes int
}

// put remembers a text and gives its digest.
func (s *seen) put(text []byte) string {
	s.Lock()
	defer s.Unlock()
	name := digest(string(text))
	if s.texts == nil {
		s.texts = map[string][]byte{}
	}
	if s.texts[name] == nil {
		s.texts[name], s.order = append([]byte{}, text...), append(s.order, name)
		for s.bytes += len(text); len(s.order) > 1 && (len(s.order) > mostSeen || s.bytes > mostBytes); s.order = s.order[1:] {
			s.bytes -= len(s.texts[s.order[0]])
			delete(s.texts, s.order[0])
		}
	}
	return name
}

func (s *seen) get(name string) []byte {
	s.Lock()
	defer s.Unlock()
	return s.texts[name]
}

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

// readingsOn opens a job for its readings.
func (s *Site) readingsOn(name string) (*record.File, *evidence.Case, error) {
	at, err := s.file(name)
	if to := s.desks.movedTo(jobAddress(name), ""); err != nil && to != "" { // its file was renamed meanwhile
		if name, err = url.PathUnescape(path.Base(to)); err == nil {
			at, err = s.file(name)
		}
	}
	if err != nil {
		return nil, nil, err
	}
	file, err := record.OpenCase(s.dir, at, s.book.Vocabulary(), false)
	if err != nil {
		return nil, nil, err
	}
	k, err := file.Case()
	if err == nil && k == nil {
		err = &notFoundError{"Nothing stands in this case yet. Tell first which pump it is and how it stands."}
	}
	return file, k, err
}

// offered says whether a block can be read on a pump, or the case has it.
func (s *Site) offered(b *block, k *evidence.Case, again bool) bool {
	switch {
	case b.Name == shimsBlock:
		return !again && k.Job.Pump != ""
	case b.Name == suctionBlock:
		return !again
	case b.Name == "piston-rod" && k.Pump.Action != evidence.Duplex:
		return len(k.Measured.PistonRod)+len(k.MeasuredAgain.PistonRod) > 0
	}
	return true
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

// asked is the form that a request names.
func (s *Site) asked(r *http.Request) (*form, error) {
	file, k, err := s.readingsOn(r.PathValue("job"))
	if err != nil {
		return nil, err
	}
	b, again := pages.BlockNamed(r.PathValue("block")), r.PathValue("of") == readingsAgainOf
	if b == nil || !s.offered(b, k, again) || !again && r.PathValue("of") != readingsOf {
		return nil, &notFoundError{"There are no such readings on this pump."}
	}
	for _, at := range k.Pump.Places(b.Level) {
		if placeName(at) == r.PathValue("place") {
			return s.formOf(file, k, b, at, again)
		}
	}
	return nil, &notFoundError{"This pump has no such place for these readings."}
}

// placeName is a place in an address.
func placeName(at evidence.Place) string {
	if at.Cylinder == "" {
		return pumpPlace
	}
	return at.Cylinder
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
			return metricText(text)
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

// metricText says whether a figure is written in a metric unit.
func metricText(text string) bool {
	_, unit, _ := strings.Cut(strings.TrimSpace(text), " ")
	return slices.Contains([]string{"mm", "cm", "m", "bar", "kPa", "MPa", "m3", "L", "kg/m3", "kg/L", "g/cm3", "mm/m"}, unit)
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
		edits = append(edits, record.AddLog(evidence.LogEntry{At: at.UTC().Format(time.RFC3339), By: f.by, Did: "noted: " + said}))
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

// readingsIndex shows which readings can be taken on this pump, and which are there.
func (s *Site) readingsIndex(w http.ResponseWriter, r *http.Request) error {
	file, k, err := s.readingsOn(r.PathValue("job"))
	if err != nil {
		return err
	}
	body := readingsBody{Title: "Readings: " + strings.TrimPrefix(jobAddress(file.Name()), "/job/"), Job: jobAddress(file.Name())}
	if name := k.Pump.Name; name != "" {
		body.Title = "Readings: " + name
	}
	for _, again := range []bool{false, true} {
		list := &body.First
		if again {
			list = &body.Again
		}
		for i := range pages.Blocks {
			b := &pages.Blocks[i]
			if !s.offered(b, k, again) {
				continue
			}
			shown := shownBlock{Title: b.Title()}
			for _, at := range k.Pump.Places(b.Level) {
				f, err := s.formOf(file, k, b, at, again)
				if err != nil {
					return err
				}
				shown.Places = append(shown.Places, shownPlace{Name: words.Capital(placeWords(at)), Address: f.address(), Have: f.have()})
			}
			*list = append(*list, shown)
		}
	}
	return s.show(w, http.StatusOK, "readings", shell{Title: body.Title, Pages: jobWays(body.Job, readingsOf), Body: body})
}

func placeWords(at evidence.Place) string {
	if at.Cylinder == "" {
		return "the pump"
	}
	return words.Place(at)
}

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

// showReadings shows the form of a block at a place.
func (s *Site) showReadings(w http.ResponseWriter, r *http.Request) error {
	f, err := s.asked(r)
	if err != nil {
		return err
	}
	if len(f.base) == 0 {
		f.asSister()
	}
	body := readingBody{Written: r.URL.Query().Has("written") && len(f.have()) > 0}
	if body.Written {
		body.Next = s.nextOf(r.PathValue("job"))
	}
	return s.putReadings(w, http.StatusOK, f, f.k, body)
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

// nextOf is what the talk over a job asks now; "" where nothing is asked.
func (s *Site) nextOf(job string) string {
	k, err := s.jobDesk(job, "")
	if err != nil {
		return ""
	}
	defer k.Unlock()
	if err := k.talk.(overCase).LookAgain(); err != nil {
		s.desks.leave(k)
		return ""
	}
	p, err := k.talk.Prompt()
	if err != nil {
		return ""
	}
	return (&put{Prompt: p}).Heading()
}

// answerReadings draws what was typed, or writes it down.
func (s *Site) answerReadings(w http.ResponseWriter, r *http.Request) error {
	f, err := s.sent(r)
	if err != nil {
		return err
	}
	k, err := s.judge(f)
	if err != nil {
		return err
	}
	status := http.StatusOK
	if r.PostForm.Get(fieldDo) == doWrite {
		if status, err = s.writeReadings(f); err != nil {
			return err
		}
		if status == http.StatusSeeOther {
			http.Redirect(w, r, f.address()+"?written=1", status)
			return nil
		}
	}
	return s.putReadings(w, status, f, k, readingBody{})
}

// sent is the form that was sent, over the case as it is now.
func (s *Site) sent(r *http.Request) (*form, error) {
	if err := r.ParseForm(); err != nil {
		return nil, err
	}
	f, err := s.asked(r)
	if err != nil {
		return nil, err
	}
	f.take(r.PostForm)
	rests := r.PostForm.Get(fieldRests)
	if rests == digest(string(f.file.Text())) {
		return f, nil
	}
	was := s.seen.get(rests)
	return f, f.merge(was, was != nil)
}

// writeReadings writes a form into the case, and says with which status it is shown
// again: SeeOther where it is written.
func (s *Site) writeReadings(f *form) (status int, err error) {
	edits := f.all(f.now, s.now())
	refused := func(text string) { f.told = append(f.told, text) }
	switch {
	case len(f.since) > 0 && len(edits) == 0 && len(f.base) > 0, len(f.wrong)+len(f.told) == 0 && len(edits) == 0 && len(f.base) > 0:
		return http.StatusSeeOther, nil // it stands there already
	case len(f.since) > 0:
		return http.StatusConflict, nil
	case f.Name == shimsBlock && f.k.Job.IsClosed():
		refused(fmt.Sprintf("%s: this job was closed on %s; first: note JOB open-again", shimsBlock, f.k.Job.Closed.Format(evidence.DateForm)))
	case len(f.wrong)+len(f.told) > 0:
	case len(edits) == 0:
		refused("Nothing was typed in. Type one reading at least.")
	case f.asksTaken() && f.taken == "":
		f.wrong[fieldTaken] = []string{"The pump runs, and this needs covers off. Say when it was taken."}
	}
	if len(f.wrong)+len(f.told) > 0 {
		return http.StatusUnprocessableEntity, nil
	}
	_, err = f.file.Write(edits...)
	var changed *record.ChangedError
	var unfit *record.RefusedError
	switch {
	case errors.As(err, &changed):
		f.since = doc.Each(changed.Changes, func(c record.Change) string { return doc.Shown(c.String()) })
		return http.StatusConflict, nil
	case errors.As(err, &unfit):
		refused(unfit.Error())
		return http.StatusUnprocessableEntity, nil
	case err != nil:
		said, status := refusal(err)
		refused(said)
		return status, nil
	}
	return http.StatusSeeOther, nil
}

// drawReadings gives the picture and the words of what was typed, without the page
// around them.
func (s *Site) drawReadings(w http.ResponseWriter, r *http.Request) error {
	f, err := s.sent(r)
	if err != nil {
		return err
	}
	k, err := s.judge(f)
	if err != nil {
		return err
	}
	drawn, err := s.drawn(f, k)
	if err != nil {
		return err
	}
	return s.show(w, http.StatusOK, "drawn", shell{Body: drawn})
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
	body.Job, body.All, body.Address = f.job, f.job+"/"+readingsOf, f.address()
	body.Rests, body.How, body.Draws = s.seen.put(f.file.Text()), pages.BlockHow(f.Name), f.Name != shimsBlock
	body.Since, body.Told, body.By = f.since, f.told, f.by
	body.TakenWrong = f.wrong[fieldTaken]
	if f.asksTaken() {
		body.Taken = []option{
			{string(evidence.AtLastStop), "at the last stop, behind the isolation", f.taken == evidence.AtLastStop},
			{string(evidence.WhileRunning), "while she runs, beside moving parts: it is not used", f.taken == evidence.WhileRunning},
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
	return s.show(w, status, "reading", shell{Title: body.Title, Pages: jobWays(f.job, readingsOf), Body: body})
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

// readingWays lead from what a prompt is about to the forms of its readings.
func (s *Site) readingWays(p *prompt.Prompt, k *evidence.Case, job string) (out []way) {
	if k == nil {
		return nil
	}
	for _, about := range p.About {
		var names []string
		switch about.Kind {
		case "check":
			if c := s.book.Checks.Get(about.ID); c != nil {
				names = s.book.BlocksOf(c.Answers...)
			}
		case "sign":
			names = s.book.BlocksOf(about.ID)
		}
		for _, name := range names {
			b := pages.BlockNamed(name)
			if b == nil || !s.offered(b, k, false) {
				continue
			}
			for _, at := range k.Pump.Places(b.Level) {
				if about.Cylinder != "" && at.Cylinder != "" && at.Cylinder != about.Cylinder {
					continue
				}
				f := form{block: b, at: at, job: job}
				to := way{Text: words.Titled(b.Title(), at), Address: f.address()}
				if !slices.Contains(out, to) {
					out = append(out, to)
				}
			}
		}
	}
	return out
}
