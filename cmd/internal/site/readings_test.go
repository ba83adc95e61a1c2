package site

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/pages"
	"telltale/cmd/internal/prompt"
	"telltale/engine/figures"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/evidence/source"
	"telltale/rules"
)

const isolatedPump = `# A pump of the invented rig Larkspur.
pump:
  name: Larkspur pump 2
  action: triplex-single-acting
  liner: 6 1/2 in
  stroke: 12 in
  state: isolated
findings:
  wiper-leaks: {again: [2]}   # seen by the mate
`

// folder is pages over a folder with one case in it.
type folder struct {
	t    *testing.T
	book *rules.Book
	site *Site
	file string
}

func over(t *testing.T, text string) *folder {
	t.Helper()
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	f := &folder{t: t, book: book, file: filepath.Join(t.TempDir(), "two.yaml")}
	require.NoError(t, os.WriteFile(f.file, []byte(text), 0o666))
	f.site, err = New(book, filepath.Dir(f.file), func() time.Time { return time.Date(2026, 3, 4, 6, 10, 0, 0, time.UTC) }, func(*http.Request) string { return "" })
	require.NoError(t, err)
	t.Cleanup(func() { f.site.Close() })
	return f
}

func (f *folder) text() string {
	text, err := os.ReadFile(f.file)
	require.NoError(f.t, err)
	return string(text)
}

func (f *folder) get(at string) *httptest.ResponseRecorder {
	w := httptest.NewRecorder()
	f.site.Handler().ServeHTTP(w, httptest.NewRequest(http.MethodGet, at, nil))
	return w
}

func (f *folder) post(at string, form url.Values) *httptest.ResponseRecorder {
	w := httptest.NewRecorder()
	r := httptest.NewRequest(http.MethodPost, at, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	f.site.Handler().ServeHTTP(w, r)
	return w
}

// filled is a form with fields as key=value, over the text as it is now.
func (f *folder) filled(do string, fields ...string) url.Values {
	form := url.Values{fieldRests: {f.site.seen.put([]byte(f.text()))}, fieldDo: {do}}
	for _, field := range fields {
		key, value, _ := strings.Cut(field, "=")
		if key != fieldTaken && key != fieldBy {
			key = fieldReading + key
		}
		form.Set(key, value)
	}
	return form
}

const readingsAt = "/job/two/readings/"

func TestAFormWritesWhatNoteMeasuredWrites(t *testing.T) {
	for name, c := range map[string]struct {
		at     string
		path   []string
		fields []string // as typed
		noted  []string // as note takes them
	}{
		"rod": {
			readingsAt + "rod-in-opening/2", []string{"rod-in-opening", "2"},
			[]string{"resolution=1", "each-reading-is=largest-leaf", "with=feelers", "rod=parted", "crosshead=seated", "back.top=141", "back.bottom=118 thou", "middle.top=142", "middle.bottom=117 to 118", "at=28"},
			[]string{"resolution=1 thou", "each-reading-is=largest-leaf", "with=feelers", "rod=parted", "crosshead=seated", "back.top=141 thou", "back.bottom=118 thou", "middle.top=142 thou", "middle.bottom=117 to 118 thou", "at=28 in"},
		},
		"upper guide": {
			readingsAt + "upper-guide/1", []string{"upper-guide", "1"},
			[]string{"resolution=0,05 mm", "rear=0,84 mm", "front-left=33"}, []string{"resolution=0.05 mm", "rear=0.84 mm", "front-left=33 thou"},
		},
		"face": {
			readingsAt + "rod-face-gap/3", []string{"rod-face-gap", "3"},
			[]string{"resolution=1", "top=0", "bottom=4"}, []string{"resolution=1 thou", "top=0 thou", "bottom=4 thou"},
		},
		"fluid end": {
			readingsAt + "fluid-end-gap/pump", []string{"fluid-end-gap"},
			[]string{"resolution=1", "top-left=2", "bottom-right=0"}, []string{"resolution=1 thou", "top-left=2 thou", "bottom-right=0 thou"},
		},
		"tank": {
			readingsAt + "tank-test/pump", []string{"tank-test"},
			[]string{"strokes=510", "strokes-within=1", "volume=40.5", "volume-within=0.5"}, []string{"strokes=510", "strokes-within=1", "volume=40.5 bbl", "volume-within=0.5 bbl"},
		},
		"gauges": {
			readingsAt + "before-and-now/pump", []string{"before-and-now"},
			[]string{"before.discharge=2800", "before.speed=95", "now.discharge=2400", "now.speed=95", "drive-setting=same", "mud=mud-drilling-rate"},
			[]string{"before.discharge=2800 psi", "before.speed=95 strokes/min", "now.discharge=2400 psi", "now.speed=95 strokes/min", "drive-setting=same", "mud=mud-drilling-rate"},
		},
	} {
		t.Run(name, func(t *testing.T) {
			f := over(t, isolatedPump)
			var edits []record.Edit
			for _, noted := range c.noted {
				key, value, _ := strings.Cut(noted, "=")
				edits = append(edits, record.SetMeasured(value, append(append([]string{}, c.path...), strings.Split(key, ".")...)...))
			}
			want, _, err := record.Apply(f.file, []byte(isolatedPump), f.book.Vocabulary(), edits...)
			require.NoError(t, err)

			w := f.post(c.at, f.filled("draw", c.fields...))
			assert.Equal(t, http.StatusOK, w.Code, w.Body.String())
			assert.Equal(t, isolatedPump, f.text(), "drawing writes nothing")
			w = f.post(c.at+"/draw", f.filled("draw", c.fields...))
			assert.Equal(t, http.StatusOK, w.Code)
			assert.Contains(t, w.Body.String(), "data-says")
			assert.NotContains(t, w.Body.String(), "<html")
			assert.Equal(t, isolatedPump, f.text())

			w = f.post(c.at, f.filled(doWrite, c.fields...))
			require.Equal(t, http.StatusSeeOther, w.Code, w.Body.String())
			assert.Equal(t, string(want), f.text())
			page := f.get(w.Header().Get("Location")).Body.String()
			assert.Contains(t, page, "Written down.")
			assert.Contains(t, page, `href="/job/two"`)
		})
	}
}

func TestListsOfReadingsAreWritten(t *testing.T) {
	f := over(t, isolatedPump)
	at := readingsAt + "liner-bore/2"
	w := f.post(at, f.filled(doWrite, "resolution=1", "new=6.5", "stations.0.up-down=6.519", "stations.0.across=6.506", "stations.2.across=6.51"))
	require.Equal(t, http.StatusSeeOther, w.Code, w.Body.String())
	assert.Contains(t, f.text(), "stations: [{up-down: 6.519 in, across: 6.506 in}, across: 6.51 in]")
	w = f.post(at, f.filled(doWrite, "stations.1.across="))
	require.Equal(t, http.StatusSeeOther, w.Code, w.Body.String())
	assert.Contains(t, f.text(), "stations: [{up-down: 6.519 in, across: 6.506 in}]")

	w = f.post(readingsAt+"suction-line/pump", f.filled(doWrite, "mud-weight=12", "mud-above-pump=4", "pipes.0.length=20", "pipes.0.bore=10"))
	require.Equal(t, http.StatusSeeOther, w.Code, w.Body.String())
	assert.Contains(t, f.text(), "suction-line:\n  mud-weight: 12 lb/gal\n  mud-above-pump: 4 ft\n  pipes:\n    - {length: 20 ft, bore: 10 in}\n")
	page := f.get("/job/two/readings").Body.String()
	assert.Contains(t, page, "up-down 6.519 in (165.6 mm), across 6.506 in (165.3 mm)")
	assert.Contains(t, page, "mud weight 12 lb/gal (1438 kg/m3)")

	w = f.post(readingsAt+"suction-line/pump", f.filled(doWrite, "mud-weight=", "mud-above-pump=", "pipes.0.length=", "pipes.0.bore="))
	require.Equal(t, http.StatusSeeOther, w.Code, w.Body.String())
	assert.NotContains(t, f.text(), "suction-line")
}

func TestReadingsAfterACorrection(t *testing.T) {
	f := over(t, isolatedPump)
	w := f.post("/job/two/readings-again/rod-in-opening/2", f.filled(doWrite, "resolution=1", "rod=parted", "crosshead=seated", "middle.top=130", "middle.bottom=129"))
	require.Equal(t, http.StatusSeeOther, w.Code, w.Body.String())
	assert.Contains(t, f.text(), "measured-again:\n  rod-in-opening:\n    2:")
	assert.NotContains(t, f.text(), "\nmeasured:")
	page := f.get(w.Header().Get("Location")).Body.String()
	assert.Contains(t, page, "after the correction")
	assert.Contains(t, page, "top 130.0")
}

// What the picture says is what engine/align works out.
func TestThePictureHasTheFiguresOfTheReadings(t *testing.T) {
	f := over(t, isolatedPump)
	fields := []string{"resolution=1", "rod=parted", "crosshead=seated", "middle.top=142", "middle.bottom=117"}
	page := f.post(readingsAt+"rod-in-opening/2/draw", f.filled("draw", fields...)).Body.String()
	_, k, err := record.Apply(f.file, []byte(isolatedPump), f.book.Vocabulary(),
		record.SetMeasured("1 thou", "rod-in-opening", "2", "resolution"), record.SetMeasured("parted", "rod-in-opening", "2", "rod"),
		record.SetMeasured("seated", "rod-in-opening", "2", "crosshead"),
		record.SetMeasured("142 thou", "rod-in-opening", "2", "middle", "top"), record.SetMeasured("117 thou", "rod-in-opening", "2", "middle", "bottom"))
	require.NoError(t, err)
	worked, err := figures.Work(f.book, k)
	require.NoError(t, err)
	c := worked.Centring[0]
	assert.InDelta(t, -12.5*25.4e-6, c.Planes[0].Positions[0].Height.Mean, 1e-12)
	assert.Contains(t, page, "rod 12.5 low")
	assert.Contains(t, page, "top 142.0")
	assert.Contains(t, page, "(142.0 - 117.0) / 2 = 12.5 thou")
	assert.Contains(t, page, "Crosshead at the back", "open where nobody read")
	assert.Contains(t, page, "top not read")
	assert.Contains(t, page, c.Title)
}

func TestWhatCannotBeIsToldBesideItsField(t *testing.T) {
	for name, c := range map[string]struct {
		at     string
		fields []string
		want   []string
	}{
		"no number":      {"rod-in-opening/2", []string{"resolution=1", "back.top=abc", "back.bottom=118"}, []string{`id="f-back-top-wrong"`, `&#34;abc&#34; is not a quantity`, `value="118 thou"`}},
		"too large":      {"rod-in-opening/2", []string{"resolution=1", "back.top=5 in"}, []string{`id="f-back-top-wrong"`, "is too large for this reading"}},
		"no step":        {"upper-guide/2", []string{"rear=33"}, []string{`id="f-resolution-wrong"`, `upper-guide of 2 has no &#34;resolution&#34;`}},
		"two":            {"rod-in-opening/2", []string{"resolution=1", "back.top=x", "middle.top=x"}, []string{`id="f-back-top-wrong"`, `id="f-middle-top-wrong"`}},
		"backwards":      {"rod-face-gap/1", []string{"resolution=1", "top=16 to 15"}, []string{`id="f-top-wrong"`, "runs backwards"}},
		"a station":      {"liner-bore/1", []string{"resolution=1", "stations.0.across=30 in"}, []string{`id="f-stations-0-across-wrong"`, "is too large"}},
		"nothing":        {"rod-in-opening/2", nil, []string{"Nothing was typed in. Type one reading at least."}},
		"no reading":     {"rod-in-opening/2", []string{"resolution=1"}, []string{"no reading here; expected back:, middle: or front: with top: and bottom:"}},
		"the liner":      {"liner-bore/1", []string{"resolution=1", "new=6", "stations.0.across=6.01"}, []string{"the pump&#39;s liner is 6 1/2 in; which one is in?"}},
		"second plane":   {"rod-in-opening/2", []string{"resolution=1", "middle.top=140", "second-plane.middle.top=140"}, []string{"two planes need at: each"}},
		"no such choice": {"rod-in-opening/2", []string{"resolution=1", "middle.top=140", "rod=off"}, []string{`unknown state of the rod &#34;off&#34;`, `id="f-rod-wrong"`}},
	} {
		t.Run(name, func(t *testing.T) {
			f := over(t, isolatedPump)
			w := f.post(readingsAt+c.at, f.filled(doWrite, c.fields...))
			assert.Equal(t, http.StatusUnprocessableEntity, w.Code)
			for _, want := range c.want {
				assert.Contains(t, w.Body.String(), want)
			}
			assert.Equal(t, isolatedPump, f.text())
		})
	}
}

func TestHostileTextIsText(t *testing.T) {
	const hostile = `<script>alert(1)</script>"'&`
	f := over(t, isolatedPump)
	w := f.post(readingsAt+"rod-in-opening/2", f.filled(doWrite, "resolution=1", "back.top="+hostile, "with="+hostile+"\x00\u202e"))
	assert.NotContains(t, w.Body.String(), "<script>alert")
	w = f.post(readingsAt+"rod-in-opening/2", f.filled(doWrite, "resolution=1", "back.top=141", "with=a: [b, {c\n  d: e", "by=x\nfindings: {knock: present}"))
	require.Equal(t, http.StatusSeeOther, w.Code, w.Body.String())
	k, err := evidence.ParseCase(f.file, []byte(f.text()), f.book.Vocabulary())
	require.NoError(t, err)
	assert.Equal(t, "a: [b, {c  d: e", k.Measured.RodInOpening[0].With)
	assert.Len(t, k.Findings, 1)
	assert.Equal(t, "xfindings: {knock: present}", k.Log[0].By)
	assert.NotContains(t, f.get("/job/two/readings").Body.String(), "<script>alert")
	before := f.text()
	w = f.post(readingsAt+"rod-in-opening/2", f.filled(doWrite, "back.top=142", "with="+strings.Repeat("long ", 100)))
	assert.Contains(t, w.Body.String(), "What was typed in f.with is too long: 200 letters at most.")
	assert.Equal(t, before, f.text())
	for _, at := range []string{"rod-in-opening/9", "rod-in-opening/pump", "no-such/2", "tank-test/2", "piston-rod/2", "shims/2"} {
		assert.Equal(t, http.StatusNotFound, f.get(readingsAt+at).Code, at)
	}
	assert.Equal(t, http.StatusNotFound, f.get("/job/two/other/rod-in-opening/2").Code)
}

func TestAFormOfAnOlderCaseSaysWhatChanged(t *testing.T) {
	f := over(t, isolatedPump)
	at := readingsAt + "rod-in-opening/2"
	require.Equal(t, http.StatusSeeOther, f.post(at, f.filled(doWrite, "resolution=1", "back.top=141", "back.bottom=118")).Code)
	old := f.filled(doWrite, "resolution=1 thou", "back.top=141 thou", "back.bottom=120", "middle.top=140")
	require.Equal(t, http.StatusSeeOther, f.post(at, f.filled(doWrite, "back.top=143", "back.bottom=119")).Code)
	before := f.text()
	w := f.post(at, old)
	page := w.Body.String()
	assert.Equal(t, http.StatusConflict, w.Code)
	assert.Equal(t, before, f.text())
	assert.Contains(t, page, "measured: rod-in-opening: 2: back: top: was 141 thou, is now 143 thou")
	assert.Contains(t, page, `name="f.back.top" value="143 thou"`, "what was not typed over is as the file has it")
	assert.Contains(t, page, `name="f.back.bottom" value="120 thou"`, "what was typed is kept")
	assert.Contains(t, page, `name="f.middle.top" value="140 thou"`)
	assert.Contains(t, page, "Somebody wrote here meanwhile: 119 thou.")
	old.Set(fieldRests, "0123456789ab")
	w = f.post(at, old)
	assert.Equal(t, http.StatusConflict, w.Code)
	assert.Contains(t, w.Body.String(), "not known any more")
	again := f.filled(doWrite, "back.top=143 thou", "back.bottom=120", "middle.top=140")
	require.Equal(t, http.StatusSeeOther, f.post(at, again).Code)
	assert.Equal(t, http.StatusSeeOther, f.post(at, again).Code, "pressed twice")
	assert.Contains(t, f.text(), "bottom: 120 thou")
}

func TestARunningPumpIsAskedWhenItWasTaken(t *testing.T) {
	running := strings.Replace(isolatedPump, "isolated", "running", 1)
	fields := []string{"resolution=1", "rod=parted", "crosshead=seated", "back.top=141", "back.bottom=118"}
	at := readingsAt + "rod-in-opening/2"
	f := over(t, running)
	assert.Contains(t, f.get(at).Body.String(), "this needs covers off. When was it taken?")
	w := f.post(at, f.filled(doWrite, fields...))
	assert.Equal(t, http.StatusUnprocessableEntity, w.Code)
	assert.Contains(t, w.Body.String(), "Say when it was taken.")
	assert.Equal(t, running, f.text())
	require.Equal(t, http.StatusSeeOther, f.post(at, f.filled(doWrite, append(fields, "taken=while-running")...)).Code)
	assert.Contains(t, f.text(), "taken: {while-running: [rod-in-opening]}")
	page := f.get(at).Body.String()
	assert.Contains(t, page, "it is not used")
	assert.NotContains(t, page, "Pack ")
	again := f.filled(doWrite, "back.top=142")
	assert.Equal(t, http.StatusUnprocessableEntity, f.post(at, again).Code, "asked of each that is typed in")
	again.Set(fieldTaken, string(evidence.AtLastStop))
	require.Equal(t, http.StatusSeeOther, f.post(at, again).Code)
	assert.Contains(t, f.text(), "taken: {at-last-stop: [rod-in-opening]}")
	require.Equal(t, http.StatusSeeOther, f.post(at, f.filled(doWrite, "taken=while-running")).Code, "the time alone")
	assert.Contains(t, f.text(), "taken: {while-running: [rod-in-opening]}")
	f = over(t, running)
	require.Equal(t, http.StatusSeeOther, f.post(at, f.filled(doWrite, append(fields, "taken=at-last-stop", "by=A. Hand")...)).Code)
	assert.Contains(t, f.text(), "taken: {at-last-stop: [rod-in-opening]}")
	assert.Contains(t, f.text(), `did: "noted: measured rod-in-opening 2 resolution=1 thou rod=parted crosshead=seated back.top=141 thou back.bottom=118 thou; taken at-last-stop"`)
	assert.NotContains(t, f.get(readingsAt+"tank-test/pump").Body.String(), "covers off")
}

func TestTheTalkTellsOfReadings(t *testing.T) {
	f := over(t, isolatedPump)
	require.Equal(t, http.StatusOK, f.get("/job/two").Code)
	require.Equal(t, http.StatusSeeOther, f.post(readingsAt+"upper-guide/2", f.filled(doWrite, "resolution=1", "rear=33", "front=32")).Code)
	page := f.get("/job/two").Body.String()
	assert.Contains(t, page, "Readings were written into the case meanwhile. It was read again:")
	assert.Contains(t, page, `href="/job/two/readings"`)
}

// A line of shims is added to an open job of a rig, as note adds it, and once.
func TestShimsOfAJob(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(dir, os.DirFS("../../../testdata/rig")))
	site, err := New(book, dir, time.Now, func(*http.Request) string { return "" })
	require.NoError(t, err)
	t.Cleanup(func() { site.Close() })
	f := &folder{t: t, book: book, site: site, file: filepath.Join(dir, "jobs", "2026-10-24-pump-2-wiper.yaml")}
	before, at := f.text(), "/job/2026-10-24-pump-2-wiper/readings/shims/2"
	file, err := record.OpenCase(f.site.dir, f.file, book.Vocabulary(), false)
	require.NoError(t, err)
	want, _, err := record.Apply(f.file, []byte(before), file.Words(), record.Shims(evidence.Place{Cylinder: "2"}, &record.Pack{Rear: "12 thou", Front: "10 thou"}, &record.Pack{Rear: "3 thou"}))
	require.NoError(t, err)
	assert.NotContains(t, f.get(at).Body.String(), "Draw it", "shims are no picture")
	form := f.filled(doWrite, "put-in.rear=12 thou", "put-in.front=10 thou", "taken-out.rear=3 thou")
	w := f.post(at, form)
	require.Equal(t, http.StatusSeeOther, w.Code, w.Body.String())
	assert.Equal(t, string(want), f.text())
	assert.Equal(t, http.StatusConflict, f.post(at, form).Code, "pressed twice")
	assert.Equal(t, string(want), f.text())
	assert.Contains(t, f.get(w.Header().Get("Location")).Body.String(), "Written down.")
	w = f.post(at, f.filled(doWrite))
	assert.Contains(t, w.Body.String(), "Nothing was typed in.")
	w = f.post(at, f.filled(doWrite, "put-in.rear=12 psi"))
	assert.Contains(t, w.Body.String(), `id="f-put-in-rear-wrong"`)

	f.file = filepath.Join(dir, "jobs", "2026-10-16-pump-2-valve-3.yaml")
	closed := f.text()
	w = f.post("/job/2026-10-16-pump-2-valve-3/readings/shims/2", f.filled(doWrite, "put-in.rear=12 thou"))
	assert.Equal(t, http.StatusUnprocessableEntity, w.Code)
	assert.Contains(t, w.Body.String(), "shims: this job was closed on ")
	assert.Equal(t, closed, f.text())
}

// What is asked leads to the form of its readings, at its place.
func TestAQuestionLeadsToItsReadings(t *testing.T) {
	f := over(t, isolatedPump)
	k, err := evidence.ParseCase(f.file, []byte(isolatedPump), f.book.Vocabulary())
	require.NoError(t, err)
	rod := way{Text: "Rod in its opening, cylinder 2", Address: readingsAt + "rod-in-opening/2"}
	for name, c := range map[string]struct {
		about prompt.About
		want  []way
	}{
		"a check at a cylinder": {prompt.About{Kind: "check", ID: "rod-centring", Cylinder: "2"}, []way{rod}},
		"a sign at a cylinder":  {prompt.About{Kind: "sign", ID: "rod-off-centre", Cylinder: "2"}, []way{rod}},
		"a sign of the pump":    {prompt.About{Kind: "sign", ID: "pressure-low"}, []way{{Text: "Gauges before and now", Address: readingsAt + "before-and-now/pump"}}},
		"none is read":          {prompt.About{Kind: "sign", ID: "wiper-leaks", Cylinder: "2"}, nil},
	} {
		t.Run(name, func(t *testing.T) {
			p := prompt.Prompt{About: []prompt.About{c.about}, Ask: "What is it?"}
			ways := f.site.readingWays(&p, k, "/job/two", "")
			for _, w := range c.want {
				assert.Contains(t, ways, w)
				assert.Equal(t, http.StatusOK, f.get(w.Address).Code)
			}
			if c.want == nil {
				assert.Empty(t, ways)
			}
			var page strings.Builder
			require.NoError(t, templates.ExecuteTemplate(&page, "put", &put{Prompt: p, Readings: ways}))
			assert.Equal(t, c.want != nil, strings.Contains(page.String(), "Type the readings in:"))
		})
	}
}

// A case whose readings and words exclude each other is shown with why, and can be put
// right by the form.
func TestACaseThatContradictsItselfIsPutRight(t *testing.T) {
	f := over(t, isolatedPump+"  rod-off-centre: {high: [2]}\nmeasured:\n  rod-in-opening: {2: {resolution: 1 thou, rod: parted, crosshead: seated, middle: {top: 180 thou, bottom: 100 thou}}}\n")
	at := readingsAt + "rod-in-opening/2"
	w := f.get(at)
	assert.Equal(t, http.StatusOK, w.Code)
	assert.Contains(t, w.Body.String(), "Not in the picture:")
	assert.Contains(t, w.Body.String(), `value="180 thou"`)
	require.Equal(t, http.StatusSeeOther, f.post(at, f.filled(doWrite, "middle.top=100", "middle.bottom=180")).Code)
	assert.NotContains(t, f.get(at).Body.String(), "Not in the picture:")
}

// Every key of a form is one of the case file, and every reading that the rulebook weighs
// has a form.
func TestEveryFieldStandsInTheCaseFile(t *testing.T) {
	f := over(t, isolatedPump)
	file, k, err := f.site.readingsOn("two")
	require.NoError(t, err)
	for _, s := range f.book.Thresholds.List {
		assert.NotNil(t, pages.BlockNamed(s.Of.Kind().Block), s.ID)
	}
	for i := range pages.Blocks {
		b := &pages.Blocks[i]
		assert.NotEmpty(t, b.Title(), b.Name)
		at := k.Pump.Places(b.Level)[0]
		form, err := f.site.formOf(file, k, b, at, false)
		require.NoError(t, err)
		ids := map[string]bool{}
		form.each(func(key string, of *field) {
			shown := form.shown(f.site, key, of)
			assert.False(t, ids[shown.ID], "%s stands twice", shown.ID)
			ids[shown.ID] = true
			for _, metric := range []bool{false, true} {
				form.now[key] = written(of, "1", metric)
				if len(shown.Options) > 0 {
					form.now[key] = shown.Options[1].Value
				}
				if of.In.Of != "" {
					_, err := evidence.ParseQuantity(form.now[key], of.In.Of)
					assert.NoError(t, err, "%s: %s", b.Name, key)
				}
			}
		})
		_, err = f.site.would(form, form.now)
		for _, p := range problemsOf(err) {
			assert.NotEqual(t, source.UnknownKey, p.Code, p.Text)
			assert.NotEqual(t, source.UnknownName, p.Code, p.Text)
		}
	}
}
