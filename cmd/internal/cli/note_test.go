package cli

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
	"telltale/rules"
)

// A note reads out the stop conditions before all else, in the book's words, with
// all that is to be done: told or by name, when it raises them and as long as they
// stand, also those that hold only if what is not written is so.
func TestANoteReadsOutTheStops(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	for _, action := range evidence.Actions() {
		for name, c := range map[string]struct {
			note []string
			stop string
			ifSo bool
		}{
			"smoke told":           {[]string{"smoke from the gear case"}, "smoke-seen", false},
			"smoke by name":        {[]string{"smoke", "power-end"}, "smoke-seen", false},
			"a broken rod":         {[]string{"rod-broken", "present"}, "broken-rod", false},
			"the well":             {[]string{"pit-gain", "present"}, "well-control-first", false},
			"the well, guessed":    {[]string{"I think the well flows with the pumps off"}, "well-control-first", true},
			"both said":            {[]string{"smoke from the gear case. no smoke from the gear case"}, "smoke-seen", true},
			"somebody caught":      {[]string{"my hand is caught in the rods and the pump still runs"}, "people-first", false},
			"caught, guessed":      {[]string{"I think the pump turns the wrong way. Maybe a man is caught in the rods"}, "people-first", true},
			"gas":                  {[]string{"rotten eggs at the pump and the gas alarm is going"}, "gas-leave", false},
			"oxygen":               {[]string{"they charged the dampener with oxygen"}, "dampener-wrong-gas", false},
			"gas at the dampener":  {[]string{"the dampener cap is hissing gas"}, "dampener-leaks-gas", false},
			"locked and it moved":  {[]string{"drive is locked but the pump turned over"}, "isolation-failed", false},
			"flow with pumps off":  {[]string{"flow line is flowing with the pumps off"}, "well-control-first", false},
			"the well kicked":      {[]string{"the well kicked"}, "well-control-first", false},
			"smoking hot":          {[]string{"the crosshead is smoking hot"}, "crosshead-smokes", false},
			"a cover told to leak": {[]string{"the valve cover is leaking"}, "cover-leak-under-pressure", false},
			"one word":             {[]string{"H2S"}, "gas-leave", false},
			"fire":                 {[]string{"FIRE"}, "smoke-seen", false},
			"fire!":                {[]string{"fire!"}, "smoke-seen", false},
			"hurt":                 {[]string{"hurt"}, "people-first", false},
			"a name that is one":   {[]string{"smoke"}, "smoke-seen", false},
			"gas alone":            {[]string{"gas"}, "gas-leave", true},
			"kick":                 {[]string{"Kick"}, "well-control-first", true},
			"flowing":              {[]string{"flowing"}, "well-control-first", true},
			"a cracked shaft":      {[]string{"the crankshaft is cracked"}, "running-gear-broken", false},
			"gas, guessed":         {[]string{"I smell rotten eggs by the pits"}, "gas-leave", true},
		} {
			t.Run(action+", "+name, func(t *testing.T) {
				stop := book.Stops.Get(c.stop)
				require.NotNil(t, stop)
				path := filepath.Join(t.TempDir(), "case.yaml")
				require.NoError(t, os.WriteFile(path, []byte("pump: {action: "+action+", state: running}\n"), 0o600))
				out, errOut, code := run(t, append([]string{"note", path}, c.note...)...)
				require.Equal(t, 0, code, errOut)
				flat := strings.Join(strings.Fields(out), " ")
				head := "STOP FIRST"
				if c.ifSo {
					head = "STOP FIRST IF IT IS SO"
				}
				assert.True(t, strings.HasPrefix(flat, head+" ="), out)
				before, after, _ := strings.Cut(flat, path+":")
				for _, words := range append([]string{strings.ToUpper(string(stop.Signal)) + ", " + strings.ToUpper(stop.By.Words()) + ": " + stop.Title}, stop.Do...) {
					assert.Contains(t, before, words)
				}
				assert.NotContains(t, after, stop.Title)
				if stop.LeavePump {
					assert.NotContains(t, before, "Check the rotation with a bump", "all else waits")
				}
				next, errOut, code := run(t, "note", path, "oil-milky", "absent")
				require.Equal(t, 0, code, errOut)
				assert.Equal(t, !c.ifSo, strings.Contains(next, stop.Title), "it stands")
			})
		}
	}
}

// Without a stop condition a note says nothing of one.
func TestANoteWithoutAStop(t *testing.T) {
	path := filepath.Join(t.TempDir(), "case.yaml")
	require.NoError(t, os.WriteFile(path, []byte("pump: {action: duplex-double-acting, state: running}\n"), 0o600))
	out, errOut, code := run(t, "note", path, "the oil is milky")
	require.Equal(t, 0, code, errOut)
	assert.True(t, strings.HasPrefix(out, path+": written: Oil milky\n"+path+": next: Step 1: "), out)
	assert.Equal(t, 2, strings.Count(out, "\n"))
}

// A story that says its own opposite writes neither, and says both with how each
// is noted.
func TestANoteAgainstItself(t *testing.T) {
	for _, c := range []struct{ story, first, second, holds string }{
		{"wiper on 2 leaks again. wiper on 2 is dry", "wiper-leaks again 2", "wiper-leaks absent 2", ""},
		{"wiper on 2 is dry. the oil is milky. wiper on 2 leaks again", "wiper-leaks absent 2", "wiper-leaks again 2", "oil-milky: present"},
	} {
		path := filepath.Join(t.TempDir(), "case.yaml")
		require.NoError(t, os.WriteFile(path, []byte("pump: {action: triplex-single-acting, state: running}\nfindings: {wiper-leaks: {present: [3]}}\n"), 0o600))
		out, errOut, code := run(t, "note", path, c.story)
		require.Equal(t, 0, code, errOut)
		assert.Contains(t, out, "NOT written, the story says both: ")
		assert.Contains(t, out, "note "+path+" "+c.first+", or: note "+path+" "+c.second)
		assert.Equal(t, 1, strings.Count(out, "says both"))
		file, err := os.ReadFile(path)
		require.NoError(t, err)
		assert.Contains(t, string(file), "wiper-leaks: {present: [3]}", "what the file had stands")
		assert.Contains(t, string(file), c.holds)
		assert.Contains(t, string(file), "the opposite was said too: wiper on 2 is dry")
	}
}

// What a note writes has the time of the clock on the wall, and what was written in
// another zone is told in that of this machine.
func TestANoteHasTheTimeOfTheClock(t *testing.T) {
	here := time.Local
	t.Cleanup(func() { time.Local = here })
	time.Local = time.FixedZone("CST", -6*3600)
	path := filepath.Join(t.TempDir(), "case.yaml")
	require.NoError(t, os.WriteFile(path, []byte(`pump: {action: triplex-single-acting, state: isolated}
locks:
  - {on: drive, by: A. Hand, at: "2026-03-01T10:30:09Z"}
`), 0o600))
	for _, words := range [][]string{
		{"--by", "A. Hand", "wiper-leaks", "again", "2"}, {"--by", "A. Hand", "the oil is milky"},
		{"log", "told the driller", "by", "A. Hand"}, {"lock", "on", "clutch air", "by", "A. Hand"},
	} {
		_, errOut, code := run(t, append([]string{"note", path}, words...)...)
		require.Equal(t, 0, code, errOut)
	}
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Len(t, regexp.MustCompile(`at: "?\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d-06:00"?`).FindAll(text, -1), 4, "%s", text)
	out, errOut, code := run(t, "hand-over", path)
	require.Equal(t, 0, code, errOut)
	assert.Contains(t, strings.Join(strings.Fields(out), " "), "2026-03-01 04:30 CST (UTC-06:00)")
	assert.NotContains(t, out, "T10:30:09Z")
}

// A note says what comes next, in one line: the stop box before a step, what was proved
// before what is looked at, and of a job that is closed nothing.
func TestANoteSaysWhatIsNext(t *testing.T) {
	triplex := func(state, more string) string {
		return "pump: {action: triplex-single-acting, state: " + state + "}\n" + more
	}
	const wiper = "findings: {wiper-leaks: {again: [2]}}\n"
	for name, c := range map[string]struct {
		text string
		note []string
		next string
	}{
		"nothing wrong yet":  {triplex("running", ""), []string{"knock", "absent"}, "Nothing that is wrong is noted yet. Note what was seen, or tell it: telltale ask CASE"},
		"a step and a look":  {triplex("running", ""), []string{"wiper-leaks", "again", "2"}, "Step 1: Stay outside the guards (1 min). First check, step "},
		"proved":             {triplex("isolated", wiper), []string{"wiper-worn-out", "confirmed", "2"}, "Correct what was proved: Wiper or diaphragm seal worn, cylinder 2. Step 1: "},
		"a stop":             {triplex("running", ""), []string{"rod-broken", "present"}, "First all of the stop box, line by line. The rest: telltale triage CASE"},
		"a stop if it is so": {triplex("running", ""), []string{"I think the well flows with the pumps off"}, "First all of the stop box, if it is so, line by line. The rest: telltale triage CASE"},
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "case.yaml")
			require.NoError(t, os.WriteFile(path, []byte(c.text), 0o600))
			out, errOut, code := run(t, append([]string{"note", path}, c.note...)...)
			require.Equal(t, 0, code, errOut)
			lines := strings.Split(strings.TrimSpace(out), "\n")
			last := strings.ReplaceAll(lines[len(lines)-1], path, "CASE")
			assert.True(t, strings.HasPrefix(last, "CASE: next: "+c.next), last)
			assert.Equal(t, 1, strings.Count(out, ": next: "))
			assert.Contains(t, last, "telltale ")
		})
	}
}

// A job whose cause no look has proved is closed with what was found and what it was
// judged to be. Nothing is proved by that, and no word more is said of what comes next.
func TestAJobIsNotedClosedAsJudged(t *testing.T) {
	dir := t.TempDir()
	for name, text := range map[string]string{
		"pumps/pump-2.yaml": "pump: {action: triplex-single-acting}\n",
		"jobs/one.yaml":     "job: {pump: pump-2, date: 2026-10-20}\npump: {state: running}\nfindings: {pressure-low: fell-slowly, other-pump: same}\n",
	} {
		require.NoError(t, os.MkdirAll(filepath.Dir(filepath.Join(dir, name)), 0o755))
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600))
	}
	path := filepath.Join(dir, "jobs", "one.yaml")
	_, errOut, code := run(t, "note", path, "string-washout", "judged")
	require.Equal(t, 0, code, errOut)
	_, errOut, code = run(t, "note", path, "closed", "found")
	assert.Equal(t, 2, code)
	assert.Contains(t, errOut, "found what?")
	out, errOut, code := run(t, "note", path, "closed", "2026-10-21", "found", "washed pin, 14 stands down")
	require.Equal(t, 0, code, errOut)
	assert.Contains(t, out, "Closed 2026-10-21: judged, not proved: washout in the drill string. The crew found: washed pin, 14 stands down.")
	assert.NotContains(t, out, "next:")
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	for _, holds := range []string{"judged: [string-washout]", `found: "washed pin, 14 stands down"`, "closed: 2026-10-21"} {
		assert.Contains(t, string(text), holds)
	}
	assert.NotContains(t, string(text), "confirmed")
	_, errOut, code = run(t, "note", path, "open-again")
	require.Equal(t, 0, code, errOut)
	_, errOut, code = run(t, "note", path, "string-washout", "clear")
	require.Equal(t, 0, code, errOut)
	text, err = os.ReadFile(path)
	require.NoError(t, err)
	assert.NotContains(t, string(text), "judged")
}

// A story of hands inside a running pump raises the stop, and so does a lock that hangs
// on a pump that is noted as running; seen at a stop is only what is told so.
func TestANoteOfHandsInsideOrALockRaisesTheStop(t *testing.T) {
	const inside, locked = "DANGER, AT ONCE: By the case, covers were off or hands were inside", "DANGER, AT ONCE: By the case the pump runs, yet a lock hangs on it"
	for name, c := range map[string]struct {
		start string
		notes [][]string
		stop  string
		taken string
	}{
		"reached in":         {"running", [][]string{{"I reached in while it ran and the lower guide of 2 is scored"}}, inside, "taken: {while-running: [guide-wear]}"},
		"cover off":          {"running", [][]string{{"the lower guide of 2 is scored, we took the cover off while it was running"}}, inside, "taken: {while-running: [guide-wear]}"},
		"stands by now":      {"stopped", [][]string{{"I reached in while it ran and the lower guide of 2 is scored"}}, inside, "taken: {while-running: [guide-wear]}"},
		"nothing said":       {"running", [][]string{{"the lower guide of 2 is scored"}}, inside, ""},
		"when it was down":   {"running", [][]string{{"the lower guide of 2 is scored, we saw it when it was down"}}, "", "taken: {at-last-stop: [guide-wear]}"},
		"a lock":             {"isolated", [][]string{{"lock", "on", "drive", "by", "A. Hand"}, {"state", "running"}}, locked, ""},
		"a bleed":            {"isolated", [][]string{{"stays-open", "discharge bleed", "by", "A. Hand"}, {"state", "running"}}, locked, ""},
		"a lock that is off": {"isolated", [][]string{{"lock", "on", "drive", "by", "A. Hand"}, {"lock", "off", "drive", "by", "A. Hand"}, {"state", "running"}}, "", ""},
	} {
		t.Run(name, func(t *testing.T) {
			file := filepath.Join(t.TempDir(), "case.yaml")
			_, errOut, code := run(t, "note", file, "pump", "triplex-single-acting", c.start)
			require.Zero(t, code, errOut)
			var said string
			for _, words := range c.notes {
				out, errOut, code := run(t, append([]string{"note", file}, words...)...)
				require.Zero(t, code, errOut)
				said = strings.Join(strings.Fields(out), " ")
			}
			if c.stop == "" {
				assert.NotContains(t, said, "DANGER")
			} else {
				assert.Contains(t, said, c.stop)
			}
			text, err := os.ReadFile(file)
			require.NoError(t, err)
			if c.taken == "" {
				assert.NotContains(t, string(text), "taken:")
			} else {
				assert.Contains(t, string(text), c.taken)
			}
		})
	}
}

// One word is a name to which something is missing, unless it is one for a danger, as the
// name of the cause "kick" is.
func TestOneWordIsAName(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	k := &evidence.Case{Pump: evidence.Pump{Layout: evidence.Layout{Action: evidence.Triplex, Cylinders: evidence.DefaultCylinders(evidence.Triplex)}}}
	words := slices.Concat(noteKeys, lockWords, pumpKeys, jobWords, book.Causes.IDs(), book.Checks.IDs(), book.Openings.IDs(), []string{"pump", "rumble", "hiss", "wiper-leaks", "pit-gain", "wiperleaks", "again"})
	for _, word := range words {
		assert.Equal(t, word == "kick", isTold(book, k, []string{word}), word)
	}
}

// A case that is left as it is since the file has a second name: what was told of a
// danger is read out all the same, each time.
func TestADangerIsReadOutThatCannotBeWritten(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "case.yaml")
	const text = "pump: {action: triplex-single-acting, state: running}\nfindings: {smoke: present}\n"
	require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	if err := os.Link(path, filepath.Join(dir, "second.yaml")); err != nil {
		t.Skip("no second names here: ", err)
	}
	for _, told := range []string{"there is a fire at the pump", "gas-at-pump present"} {
		words := []string{told}
		if name, answer, named := strings.Cut(told, " "); named && strings.Contains(name, "-") {
			words = []string{name, answer}
		}
		var out, e strings.Builder
		code := Main(append([]string{"note", path}, words...), strings.NewReader(""), &out, &e)
		assert.Equal(t, 5, code, e.String())
		assert.Regexp(t, `^\s*STOP FIRST`, out.String(), told)
		assert.Contains(t, out.String(), "DANGER, AT ONCE")
		assert.Contains(t, e.String(), "nothing was written")
	}
	now, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, text, string(now))
}

// Words do not take back a sign on which a stop that holds rests; its name does.
func TestWordsDoNotTakeBackAStop(t *testing.T) {
	for sign, stories := range map[string][]string{
		"body-wet-line":    {"fluid end crack does not leak", "no wet line on the other pump", "fluid end crack does not stop weeping"},
		"person-in-danger": {"nobody hurt at pump 1", "everyone clear of the pump"},
		"smoke":            {"pump 1 does not smoke"},
		"isolation-failed": {"try start was good yesterday"},
	} {
		for _, story := range stories {
			path := filepath.Join(t.TempDir(), "case.yaml")
			require.NoError(t, os.WriteFile(path, []byte("pump: {action: triplex-single-acting, state: stopped}\nfindings:\n  "+sign+": present\n"), 0o600))
			out, _, code := run(t, "note", path, story)
			require.Zero(t, code, story)
			text, err := os.ReadFile(path)
			require.NoError(t, err)
			assert.Contains(t, string(text), sign+": present", story)
			assert.Contains(t, out, "STOP FIRST", story)
		}
		path := filepath.Join(t.TempDir(), "case.yaml")
		require.NoError(t, os.WriteFile(path, []byte("pump: {action: triplex-single-acting, state: stopped}\nfindings:\n  "+sign+": present\n"), 0o600))
		_, _, code := run(t, "note", path, sign, "absent")
		require.Zero(t, code)
		text, _ := os.ReadFile(path)
		assert.Contains(t, string(text), sign+": absent")
	}
}
