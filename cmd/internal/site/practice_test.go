package site

import (
	"bytes"
	"fmt"
	"html"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/trainer"
	"telltale/engine/practice"
	"telltale/rules"
)

// browser asks for the pages over a folder, as a browser does.
type browser struct {
	t     *testing.T
	dir   string
	pages http.Handler
}

// started starts the pages over a folder.
func started(t *testing.T, dir string) *browser {
	t.Helper()
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	at := time.Date(2025, 3, 4, 5, 6, 7, 0, time.UTC)
	s, err := New(book, dir, func() time.Time { return at }, func(*http.Request) string { return "once" })
	require.NoError(t, err)
	t.Cleanup(func() { s.Close() })
	return &browser{t: t, dir: dir, pages: s.Handler()}
}

// tab is a page in a tab of a browser.
type tab struct {
	*browser
	address string
	status  int
	text    string
}

// ask asks for a page, with a form if there is one, and follows where it leads.
func (f *browser) ask(address string, form url.Values) *tab {
	f.t.Helper()
	for range 3 {
		r := httptest.NewRequest(http.MethodGet, address, nil)
		if form != nil {
			r = httptest.NewRequest(http.MethodPost, address, strings.NewReader(form.Encode()))
			r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		}
		w := httptest.NewRecorder()
		f.pages.ServeHTTP(w, r)
		if w.Code != http.StatusSeeOther {
			return &tab{f, address, w.Code, w.Body.String()}
		}
		address, form = w.Header().Get("Location"), nil
	}
	require.FailNow(f.t, "it leads nowhere", address)
	return nil
}

// field is what a hidden field of the page holds.
func (p *tab) field(name string) string {
	p.t.Helper()
	found := regexp.MustCompile(`<input type="hidden" name="` + name + `" value="([^"]*)"`).FindStringSubmatch(p.text)
	require.NotNil(p.t, found, "%s is not on the page:\n%s", name, p.text)
	return html.UnescapeString(found[1])
}

func (p *tab) answer(name, value string) url.Values {
	p.t.Helper()
	return url.Values{fieldTurn: {p.field(fieldTurn)}, fieldPrompt: {p.field(fieldPrompt)}, fieldRests: {p.field(fieldRests)}, name: {value}}
}

// press presses a button, which must be there.
func (p *tab) press(id string) *tab {
	p.t.Helper()
	require.Contains(p.t, p.text, `name="alone" value="`+html.EscapeString(id)+`"`)
	return p.ask(p.address, p.answer(fieldAlone, id))
}

// has says whether a button is there.
func (p *tab) has(id string) bool {
	return strings.Contains(p.text, `name="alone" value="`+html.EscapeString(id)+`"`)
}

// plain is the page without its marks.
func (p *tab) plain() string {
	bare := regexp.MustCompile(`<[^>]*>`).ReplaceAllString(p.text, " ")
	return html.UnescapeString(strings.Join(strings.Fields(bare), " "))
}

func (f *browser) records() []practice.Record {
	f.t.Helper()
	text, err := os.ReadFile(filepath.Join(f.dir, recordFile))
	require.NoError(f.t, err)
	records, damaged, err := practice.ReadRecords(bytes.NewReader(text))
	require.NoError(f.t, err)
	require.Empty(f.t, damaged)
	return records
}

// passing is a pump and the choices with which the tool itself passes.
func passing(t *testing.T) (*practice.World, []practice.Choice) {
	t.Helper()
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	for seed := range uint64(30) {
		w, err := practice.Draw(book, practice.Setup{Seed: seed, Level: practice.CommonFault})
		require.NoError(t, err)
		s, err := practice.Replay(w)
		if err == nil && s.Verdict().Passed && slices.ContainsFunc(s.Journal, func(c practice.Choice) bool { return c.Do == practice.Check }) {
			return w, s.Journal
		}
	}
	require.FailNow(t, "the tool passes in no drawn pump")
	return nil, nil
}

// does makes one choice of an exercise through its pages. s is where it has come to.
func (p *tab) does(s *practice.Session, a practice.Action) *tab {
	p.t.Helper()
	p = p.press(string(a.Do))
	if a.Do == practice.Leave {
		return p
	}
	if a.Do == practice.Root && !p.has(a.ID) {
		p = p.press(fmt.Sprint(slices.Index(s.WithoutRoot(), a.Of)))
	}
	if p.has(a.ID) {
		p = p.press(a.ID)
	}
	if p.has("at " + a.Place.String()) {
		p = p.press("at " + a.Place.String())
	}
	if p.has("correction 1") {
		_, right := s.Corrections(a.ID)
		p = p.press(fmt.Sprintf("correction %d", right+1))
	}
	if strings.Contains(p.text, "Shim under both ends") {
		assert.Contains(p.t, p.text, "<svg", "the rod is drawn beside its shim")
		p = p.ask(p.address, p.answer(fieldText, ""))
	}
	return p
}

// What the tool does, done by hand on the pages, passes. It is recorded once, however
// often the last answer comes; the review has its pictures.
func TestAWholeExerciseIsPassed(t *testing.T) {
	w, way := passing(t)
	f := started(t, t.TempDir())
	p := f.ask("/practice", url.Values{fieldLevel: {"1"}, fieldSeed: {fmt.Sprint(w.Seed)}, fieldKeep: {"yes"}})
	require.Contains(t, p.plain(), fmt.Sprintf("Level 1: one common trouble, clear signs. Seed %d.", w.Seed))
	s := practice.Begin(w)
	var last url.Values
	for _, c := range way {
		require.Contains(t, p.text, trainer.OnlyHere[:20])
		require.Contains(t, p.text, "Known so far")
		before := p
		p = p.does(s, c.Action)
		s.Do(c.Action)
		last = before.answer(fieldAlone, string(c.Do))
	}
	require.Equal(t, http.StatusOK, p.status)
	assert.Contains(t, p.plain(), "Passed. End: found.")
	assert.Contains(t, p.plain(), "Recorded in practice.jsonl in this folder.")
	again := f.ask(p.address, last)
	assert.Equal(t, http.StatusConflict, again.status, "what was pressed before")
	records := f.records()
	require.Len(t, records, 1)
	assert.True(t, records[0].Passed)
	assert.Equal(t, "2025-03-04T05:06:07Z", records[0].At)
	assert.Equal(t, w.Seed, records[0].Seed)

	review := f.ask(strings.Replace(p.address, "?", "/review?", 1), nil)
	require.Equal(t, http.StatusOK, review.status)
	assert.Contains(t, review.text, "<svg")
	assert.Contains(t, review.plain(), "Your choices, and the tool's at that moment")
	assert.Contains(t, review.plain(), trainer.OnlyHere)
	progress := f.ask("/practice/progress", nil)
	assert.Contains(t, progress.plain(), "1 1/1 1/1")
	assert.Contains(t, progress.plain(), "no real pump")
}

// A step before its safety step is stopped with the reason, and the exercise fails. The
// last answer posted twice is one exercise on record.
func TestASafetyFaultFails(t *testing.T) {
	f := started(t, t.TempDir())
	p := f.ask("/practice", url.Values{fieldLevel: {"1"}, fieldPump: {"triplex"}, fieldSeed: {"3"}, fieldKeep: {"yes"}})
	assert.Equal(t, http.StatusNotFound, f.ask(strings.Replace(p.address, "?", "/review?", 1), nil).status, "nothing gives the trouble away before the end")
	p = p.press("check").press("rod-centring").press("at 1")
	require.Contains(t, p.plain(), "Stopped: this is not safe yet")
	assert.Contains(t, p.plain(), "The exercise counts as failed. Go on for practice.")
	assert.Contains(t, p.plain(), "The pump runs. 0 min spent. Safety faults: 1.")
	last := p.answer(fieldAlone, string(practice.GaveUp))
	for range 2 {
		p = f.ask(p.address, last)
		require.Equal(t, http.StatusOK, p.status)
		assert.Contains(t, p.plain(), "FAILED, safety faults: 1. End: given up.")
	}
	records := f.records()
	require.Len(t, records, 1)
	assert.False(t, records[0].Passed)
	assert.Equal(t, 1, records[0].Faults)
}

// Every question is answered rightly, by the same questions drawn here. A question about
// a rod has its picture, which does not say how the rod stands.
func TestAQuizToItsScore(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	questions, err := practice.Quiz(book, 8, 5)
	require.NoError(t, err)
	f := started(t, t.TempDir())
	p := f.ask("/practice", url.Values{fieldQuestions: {"8"}, fieldSeed: {"5"}})
	require.Contains(t, p.plain(), "Quiz from the rulebook. Seed 5.")
	pictures := 0
	for i, q := range questions {
		require.Contains(t, p.plain(), fmt.Sprintf("Question %d of 8", i+1))
		assert.Contains(t, p.plain(), trainer.OnlyHere)
		_, picture, drawn := strings.Cut(p.text, `<svg`)
		assert.Equal(t, q.Reading != nil, drawn)
		if drawn {
			pictures++
			assert.Contains(t, picture, fmt.Sprintf("top %d", q.Reading.Top[0]))
			assert.NotRegexp(t, `\b(low|high|shim)\b`, picture)
		}
		p = p.press(fmt.Sprintf("answer %d", q.Right+1))
	}
	assert.Positive(t, pictures)
	assert.Contains(t, p.plain(), "Score: 8 right of 8 asked.")
	assert.NotContains(t, p.text, "the review")
	assert.Equal(t, http.StatusNotFound, f.ask(strings.Replace(p.address, "?", "/review?", 1), nil).status)
	assert.NoFileExists(t, filepath.Join(f.dir, recordFile))

	wrong := f.ask("/practice", url.Values{fieldQuestions: {"8"}, fieldSeed: {"5"}}).press(fmt.Sprintf("answer %d", (questions[0].Right+1)%practice.Answers+1))
	assert.Contains(t, wrong.plain(), "Not so. Right is: "+strings.TrimSuffix(questions[0].Options[questions[0].Right], "."))
	assert.Contains(t, wrong.plain(), "Score: 0 right of 1 asked.")
}

// Two tabs, a second press, and a program that was started again.
func TestAFormThatIsNotOfNow(t *testing.T) {
	f := started(t, t.TempDir())
	drawn := url.Values{fieldLevel: {"2"}, fieldPump: {"duplex"}, fieldSeed: {"7"}, fieldKeep: {"yes"}}
	p := f.ask("/practice", drawn)
	told := regexp.MustCompile(`(?s)Known so far.*</aside>`).FindString(p.text)
	looks := p.answer(fieldAlone, "look")
	next := f.ask(p.address, looks)
	assert.Contains(t, next.plain(), "Which sign?")
	assert.Contains(t, f.ask(p.address, looks).plain(), "Which sign?", "pressed twice")
	other := f.ask(p.address, p.answer(fieldAlone, "safety"))
	assert.Equal(t, http.StatusConflict, other.status)
	assert.Contains(t, other.plain(), "Your last answer was NOT taken.")
	assert.Contains(t, other.plain(), "Which sign?")

	later := started(t, f.dir)
	for _, form := range []url.Values{nil, looks} {
		gone := later.ask(p.address, form)
		assert.Equal(t, http.StatusNotFound, gone.status)
		assert.Contains(t, gone.plain(), "This exercise is not there any more. It lived only in the memory of the program")
		assert.Contains(t, gone.plain(), trainer.OnlyHere)
		again := url.Values{}
		for name := range drawn {
			again.Set(name, gone.field(name))
		}
		assert.Equal(t, drawn, again)
		p := later.ask("/practice", again)
		assert.Equal(t, told, regexp.MustCompile(`(?s)Known so far.*</aside>`).FindString(p.text), "the same pump")
	}
	gone := later.ask("/practice/AAAA?seed=x%3Cscript%3E", nil)
	assert.Equal(t, http.StatusNotFound, gone.status)
	assert.NotContains(t, gone.text, "Draw it again")
	assert.NotContains(t, gone.text, "x<script>")
}

func TestWhatCannotBeDrawnIsSaid(t *testing.T) {
	f := started(t, t.TempDir())
	for _, c := range []struct {
		name string
		form url.Values
		says string
	}{
		{"no such level", url.Values{fieldLevel: {"4"}}, "level 4: there are the levels 1 to 3."},
		{"no level", url.Values{}, "level 0: there are the levels 1 to 3."},
		{"a level in words", url.Values{fieldLevel: {"<b>hard</b>"}}, `level "<b>hard</b>": there are the levels 1 to 3.`},
		{"a level past all numbers", url.Values{fieldLevel: {"99999999999999999999"}}, `: there are the levels 1 to 3.`},
		{"a seed in words", url.Values{fieldLevel: {"1"}, fieldSeed: {"\"><script>"}}, `expected a whole number, such as 7.`},
		{"a seed below zero", url.Values{fieldLevel: {"1"}, fieldSeed: {"-1"}}, `seed "-1": expected a whole number`},
		{"a seed past all numbers", url.Values{fieldLevel: {"1"}, fieldSeed: {"18446744073709551616"}}, `expected a whole number`},
		{"a seed that a terminal would obey", url.Values{fieldLevel: {"1"}, fieldSeed: {"\x1b[2J\x00\u202e"}}, `expected a whole number`},
		{"another pump", url.Values{fieldLevel: {"1"}, fieldPump: {"triplx"}}, `pump "triplx": unknown pump`},
		{"no questions", url.Values{fieldQuestions: {"0"}}, "a quiz has 1 to 50 questions."},
		{"too many questions", url.Values{fieldQuestions: {"51"}}, "a quiz has 1 to 50 questions."},
		{"questions below zero", url.Values{fieldQuestions: {"-3"}}, "a quiz has 1 to 50 questions."},
		{"an empty number of questions", url.Values{fieldQuestions: {""}}, "a quiz has 1 to 50 questions."},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := f.ask("/practice", c.form)
			assert.Equal(t, http.StatusUnprocessableEntity, p.status)
			assert.Contains(t, p.plain(), c.says)
			assert.Contains(t, p.plain(), "Nothing was begun.")
			for _, raw := range []string{"<script>", "<b>hard", "\x1b", "\x00", "\u202e"} {
				assert.NotContains(t, strings.ReplaceAll(p.text, `<script src=`, ""), raw)
			}
		})
	}
	for _, seed := range []string{"", " 7 ", "18446744073709551615"} {
		p := f.ask("/practice", url.Values{fieldLevel: {"1"}, fieldSeed: {seed}})
		assert.Equal(t, http.StatusOK, p.status)
		assert.Contains(t, p.plain(), "Seed "+strings.TrimSpace(seed))
	}
	p := f.ask("/practice", url.Values{fieldLevel: {"1"}, fieldSeed: {"7"}})
	for _, hostile := range []string{"nothing-of-this", "known", "../../x", strings.Repeat("y", 5000)} {
		answer := f.ask(p.address, p.answer(fieldAlone, hostile))
		assert.Equal(t, http.StatusUnprocessableEntity, answer.status)
		assert.Contains(t, answer.plain(), "is not offered here.")
	}
	for _, address := range []string{"/practice/..%2fx", "/practice/x/y", "/practice/%00?seed=1&level=1"} {
		assert.Equal(t, http.StatusNotFound, f.ask(address, nil).status, address)
	}
}

// A record file that leads out of the folder, or to another file in it, is not followed,
// neither to write nor to read.
func TestARecordFileThatLeadsElsewhereIsRefused(t *testing.T) {
	outside := filepath.Join(t.TempDir(), "outside.jsonl")
	require.NoError(t, os.WriteFile(outside, []byte("kept\n"), 0o600))
	for name, lay := range map[string]func(dir string) error{
		"a link out of the folder":       func(dir string) error { return os.Symlink(outside, filepath.Join(dir, recordFile)) },
		"a link to where nothing is yet": func(dir string) error { return os.Symlink(outside+".new", filepath.Join(dir, recordFile)) },
		"a link to a case": func(dir string) error {
			return os.Symlink("case.yaml", filepath.Join(dir, recordFile))
		},
		"a folder": func(dir string) error { return os.Mkdir(filepath.Join(dir, recordFile), 0o700) },
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			require.NoError(t, os.WriteFile(filepath.Join(dir, "case.yaml"), []byte("kept\n"), 0o600))
			require.NoError(t, lay(dir))
			f := started(t, dir)
			p := f.ask("/practice", url.Values{fieldLevel: {"1"}, fieldSeed: {"3"}, fieldKeep: {"yes"}})
			assert.Equal(t, http.StatusUnprocessableEntity, p.status)
			assert.Contains(t, p.plain(), "practice.jsonl in this folder is no file of its own")
			assert.Equal(t, http.StatusUnprocessableEntity, f.ask("/practice/progress", nil).status)
			for _, path := range []string{outside, filepath.Join(dir, "case.yaml")} {
				text, err := os.ReadFile(path)
				require.NoError(t, err)
				assert.Equal(t, "kept\n", string(text))
			}
			assert.NoFileExists(t, outside+".new")
		})
	}
}

// An exercise that cannot be recorded when it is over is not lost: its line is shown.
func TestAnExerciseThatCannotBeRecordedIsShown(t *testing.T) {
	f := started(t, t.TempDir())
	p := f.ask("/practice", url.Values{fieldLevel: {"1"}, fieldSeed: {"3"}, fieldKeep: {"yes"}})
	require.NoError(t, os.Remove(filepath.Join(f.dir, recordFile)))
	require.NoError(t, os.Mkdir(filepath.Join(f.dir, recordFile), 0o700))
	p = p.press(string(practice.GaveUp))
	require.Equal(t, http.StatusOK, p.status)
	assert.Contains(t, p.plain(), "the exercise was not recorded: practice.jsonl in this folder is no file of its own")
	line := regexp.MustCompile(`\{"schema":.*\}`).FindString(html.UnescapeString(p.text))
	records, damaged, err := practice.ReadRecords(strings.NewReader(line))
	require.NoError(t, err)
	assert.Empty(t, damaged)
	assert.Len(t, records, 1)
	assert.NotContains(t, p.text, "Recorded in")
}

// A record file with damaged lines, or none at all.
func TestProgressOfWhatIsThere(t *testing.T) {
	f := started(t, t.TempDir())
	assert.Contains(t, f.ask("/practice/progress", nil).plain(), "No exercise is on record yet.")
	assert.NoFileExists(t, filepath.Join(f.dir, recordFile), "reading makes none")
	require.NoError(t, os.WriteFile(filepath.Join(f.dir, recordFile), []byte(strings.Repeat("{<b>\n", 8)), 0o600))
	p := f.ask("/practice/progress", nil)
	assert.Contains(t, p.plain(), "practice.jsonl:1: this line is damaged and was skipped")
	assert.Contains(t, p.plain(), "Lines that are damaged besides: 3.")
	require.NoError(t, os.Truncate(filepath.Join(f.dir, recordFile), mostRecorded+1))
	p = f.ask("/practice/progress", nil)
	assert.Equal(t, http.StatusUnprocessableEntity, p.status)
	assert.Contains(t, p.plain(), "larger than 16 MB")
}
