package main

import (
	"cmp"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A job from the story to its closing, on an invented rig: what the crew tells, what
// it finds, and what its file must say in the end.
type wholeJob struct {
	pump, file string            // the pump's file, and what is in it
	told       string            // what the crew saw
	answers    map[string]string // by a prompt, where it is not the common one
	holds      []string
}

var wholeJobs = map[string]wholeJob{
	"triplex": {
		pump: "pump-1", file: "# An invented pump.\npump: {name: Tern pump 1, action: triplex-single-acting, liner: 6 in, stroke: 11 in, rotation: forward}\n",
		told:    "The wiper on number 2 leaks again a week after it was changed.",
		answers: map[string]string{"step check wiper-look 2": "result 1", "proved check wiper-look 2": "wiper-worn-out 2"},
		holds: []string{
			"wiper-leaks: {again: [2]}", "confirmed:\n  - wiper-worn-out: 2\n", "corrected:\n  - wiper-worn-out: 2\n", "looked-again:\n  - wiper-worn-out: 2\n",
			"{part: wiper-set, at: 2}", "told: The wiper on number 2 leaks again", "confirmed: Prove zero pressure", "proved: Wiper or diaphragm seal worn, cylinder 2",
			"closing up: Locks off by their owners", "closed the job", "closed: 20", "hours: 1234 h", "state: running",
		},
	},
	"duplex": {
		pump: "pump-2", file: "# An invented pump.\npump: {name: Tern pump 2, action: duplex-double-acting, cylinders: [left, right], liner: 6 1/2 in, stroke: 16 in, piston-rod: 2 1/2 in}\n",
		told:    "Mud leaks at the stuffing box of the left cylinder.",
		answers: map[string]string{"step check leak-look left": "result 2", "sign packing-worn": "unknown", "sign packing-turned": "unknown", "sign box-bushing-worn": "unknown", "step check packing-look left": "result 2", "proved check packing-look left": "packing-worn-out left"},
		holds: []string{
			"packing-leaks: {present: [left]}", "confirmed:\n  - packing-worn-out: left\n", "closed the job", "closed: 20", "state: running",
		},
	},
}

// What the crew answers where a job says nothing else, by the first word of the
// prompt: the first of these that is offered.
var commonAnswers = map[string]string{
	"state": "running", "hours": "write", "still": "yes", "stop": "read", "tell": "nothing", "urgent": "none", "agree": "yes", "lately": "no", "sign": "absent none unknown",
	"kind": "unknown", "others": "absent", "straight": "yes", "seen": "none", "proved": "no", "repair": "correct corrected", "shut": "shut", "unlooked": "leave",
	"root": "leave later", "look-again": "right", "done": "close", "still good": "none", "shims": "none", "closed": "leave", "nothing": "close",
}

// crew answers what is asked, from what is asked alone.
type crew struct {
	wholeJob
	hasTold bool
}

// answer is what is pressed, ticked or typed; "" where the job is closed.
func (c *crew) answer(a asked) (press, tick, text string) {
	prompt := strings.TrimSpace(a.Prompt)
	what, _, _ := strings.Cut(prompt, " ")
	if strings.HasPrefix(prompt, "still good") {
		what = "still good"
	}
	switch {
	case what == "rig":
		return "new " + c.pump, "", ""
	case what == "hours" && a.Words, prompt == "job hours":
		return "", "", "1234"
	case what == "tell" && !c.hasTold:
		c.hasTold = true
		return "", "", c.told
	case c.answers[prompt] != "":
		return c.answers[prompt], "", ""
	case what == "parts":
		return "", a.Ticks[0], ""
	case what == "step":
		for _, v := range []string{"done", "open", "nothing"} {
			if slices.Contains(a.Buttons, v) {
				return v, "", ""
			}
		}
	}
	for _, v := range strings.Fields(commonAnswers[what]) {
		switch {
		case slices.Contains(a.Buttons, v):
			return v, "", ""
		case slices.Contains(a.Ticks, v):
			return "", v, ""
		}
	}
	return "", "", ""
}

// mostPrompts is more than a job takes.
const mostPrompts = 120

// works works a job of a rig from its first page to its closing; sees is shown each
// page, and says whether it was answered meanwhile.
func (c *crew) works(w *window, sees func(asked) bool) {
	w.t.Helper()
	for range mostPrompts {
		a := w.asks()
		if sees(a) {
			continue
		}
		if a.Prompt == "closed" || a.Prompt == "over" || a.Prompt == "" {
			return
		}
		press, tick, text := c.answer(a)
		switch {
		case text != "":
			w.types(".ask #text", text)
			w.loading(func() { w.press(".ask .words button") })
		case tick != "":
			w.press(`.ask input[value=` + asJSON(tick) + `]`)
			w.loading(func() { w.press(".ask .several button:not([value])") })
		default:
			require.NotEmpty(w.t, press, "%q: %s: %v %v", a.Prompt, a.Asked, a.Buttons, a.Ticks)
			w.loading(func() { w.press(`.ask button[value=` + asJSON(press) + `]`) })
		}
	}
	w.t.Fatalf("the job is not closed after %d answers", mostPrompts)
}

// rigOf makes the folder of a rig with one pump and no job.
func rigOf(t *testing.T, j wholeJob) string {
	t.Helper()
	dir := t.TempDir()
	for _, name := range []string{"pumps", "jobs"} {
		require.NoError(t, os.Mkdir(filepath.Join(dir, name), 0o755))
	}
	require.NoError(t, os.WriteFile(filepath.Join(dir, "pumps", j.pump+".yaml"), []byte(j.file), 0o644))
	return dir
}

var day = regexp.MustCompile(`\b20\d\d-\d\d-\d\d\b`)

// A job is done from the story to its closing, by mouse and by keyboard alone, with
// scripts and without: its file says the same each time.
func TestAWholeJobInABrowser(t *testing.T) {
	needsBrowser(t)
	browser := chromium(t)
	for name, j := range wholeJobs {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			var first string
			for _, keys := range []bool{false, true} {
				for _, scripts := range []bool{false, true} {
					t.Run("keys "+strconv.FormatBool(keys)+" scripts "+strconv.FormatBool(scripts), func(t *testing.T) {
						dir := rigOf(t, j)
						address := serving(t, dir)
						w := newWindow(t, browser, address, scripts)
						w.keys = keys
						w.open(address)
						(&crew{wholeJob: j}).works(w, func(asked) bool { return false })
						files, err := filepath.Glob(filepath.Join(dir, "jobs", "*.yaml"))
						require.NoError(t, err)
						require.Len(t, files, 1)
						text, err := os.ReadFile(files[0])
						require.NoError(t, err)
						said := day.ReplaceAllString(moment.ReplaceAllString(string(text), "at: then"), "that day")
						for _, holds := range j.holds {
							assert.Contains(t, string(text), holds)
						}
						first = cmp.Or(first, said)
						assert.Equal(t, first, said)
					})
				}
			}
		})
	}
}
