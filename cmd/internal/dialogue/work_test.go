package dialogue

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/prompt"
	"telltale/evidence"
	"telltale/evidence/source"
	"telltale/rules"
)

// held is what a terminal or a page puts and answers.
type held interface {
	Prompt() (prompt.Prompt, error)
	Answer(prompt.Answer) error
}

// after gives the answers in order, each with what its prompt begins with: an option by
// its id, else a text. It gives the prompt after them.
func after(t *testing.T, c held, all ...[2]string) prompt.Prompt {
	t.Helper()
	for _, said := range all {
		p, err := c.Prompt()
		require.NoError(t, err)
		require.Equal(t, said[0], p.ID, "%v", p)
		a := prompt.Answer{Prompt: p.ID, Rests: p.Rests, Text: said[1]}
		for _, o := range p.Options {
			if o.ID == said[1] {
				a.Chosen, a.Text = []string{o.ID}, ""
			}
		}
		require.NoError(t, c.Answer(a), said)
	}
	p, err := c.Prompt()
	require.NoError(t, err)
	return p
}

// folder is one with files in it.
func folder(t *testing.T, files map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range files {
		path := filepath.Join(dir, name)
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
		require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	}
	return dir
}

func onADay() time.Time { return time.Date(2026, 10, 20, 9, 0, 0, 0, time.UTC) }

const repairedWiper = `job: {pump: pump-2, date: 2026-10-20, hours: 1000 h}
pump: {state: running}
findings: {wiper-leaks: {again: [2]}}
confirmed: [wiper-worn-out: 2]
corrected: [wiper-worn-out: 2]
looked-again: [wiper-worn-out: 2]
root-left: [wiper-worn-out: 2]
changed: [{part: wiper-set, at: 2}]
`

// A new job in the folder of a rig: chosen, begun and named by its first sign, with what
// was weighed beside each question.
func TestAWorkOverANewJobOfARig(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	dir := folder(t, map[string]string{"pumps/pump-2.yaml": ofThePump, "jobs/none": ""})
	choice, err := NewRig(book, dir, onADay, nil)
	require.NoError(t, err)
	p := after(t, choice, [2]string{"rig", "new pump-2"}, [2]string{"hours", "1000"}, [2]string{"state", "running"})
	assert.True(t, p.Over())
	begun := filepath.Join(dir, "jobs", "2026-10-20-pump-2-job.yaml")
	assert.Equal(t, Chosen{File: begun, Fresh: true, In: dir}, choice.Chosen())
	assert.Equal(t, []string{begun}, choice.Written())

	w, err := NewWork(book, choice.Chosen(), onADay)
	require.NoError(t, err)
	assert.Nil(t, w.Report(), "nothing is weighed before there is a prompt")
	p, err = w.Prompt()
	require.NoError(t, err)
	require.NotNil(t, p.Entry, "how it stands was said: %v", p)
	assert.Equal(t, begun, w.File())
	require.NotNil(t, w.Report())
	require.NoError(t, w.Answer(prompt.Answer{Prompt: p.ID, Rests: p.Rests, Text: "the wiper on number two leaks again"}))
	p, err = w.Prompt()
	require.NoError(t, err)
	assert.Equal(t, "6 1/2 in", w.Pump().Pump.Liner.Written)
	assert.True(t, w.Begun(), "it is agreed to before it is written")
	after(t, w, [2]string{p.ID, "yes"})
	assert.Equal(t, filepath.Join(dir, "jobs", "2026-10-20-pump-2-wiper-leaks.yaml"), w.File())
	assert.NoFileExists(t, begun)
	_, err = w.Prompt()
	require.NoError(t, err)
	assert.True(t, w.InSitting())
	assert.NotEmpty(t, w.Report().Causes)
	k, err := w.Case()
	require.NoError(t, err)
	assert.Equal(t, "wiper-leaks", signOf(k))
	assert.False(t, w.Empty() || w.Begun())
}

// A job that is closed goes on to its pump's file, and says last what it came to; what
// the sitting ended with is said until it is answered.
func TestAWorkOverAJobThatIsClosed(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	const pump = "pumps/pump-2.yaml"
	dir := folder(t, map[string]string{pump: ofThePump, "jobs/wiper.yaml": repairedWiper})
	path := filepath.Join(dir, "jobs", "wiper.yaml")
	w, err := NewWork(book, Chosen{File: path}, onADay)
	require.NoError(t, err)
	p := after(t, w, [2]string{"still running", "yes"}, [2]string{"done", "close"})
	assert.Equal(t, "parts 0", p.ID)
	p = after(t, w, [2]string{"parts 0", "none"})
	assert.Equal(t, "hours", p.ID)
	assert.False(t, w.InSitting())
	assert.Nil(t, w.Report())
	assert.Error(t, w.Answer(prompt.Answer{Prompt: "hours", Chosen: []string{"perhaps"}}))
	p = after(t, w, [2]string{"hours", "write"})
	assert.True(t, p.Over())
	assert.Equal(t, prompt.Lines(prompt.Text, w.CloseOut()), p.Body)
	assert.Contains(t, w.CloseOut(), "Closed 2026-10-20: wiper or diaphragm seal worn, cylinder 2")
	text, err := os.ReadFile(filepath.Join(dir, pump))
	require.NoError(t, err)
	assert.Contains(t, string(text), "{date: 2026-10-20, hours: 1000 h}")
	assert.NoError(t, w.Broken())

	// Over the closed job nothing is offered twice.
	w, err = NewWork(book, Chosen{File: path}, onADay)
	require.NoError(t, err)
	p = after(t, w, [2]string{"closed", "leave"})
	assert.True(t, p.Over())
	assert.Contains(t, p.Body[0].Text, "Closed 2026-10-20")

	// Opened again it is a sitting like any.
	w, err = NewWork(book, Chosen{File: path}, onADay)
	require.NoError(t, err)
	p = after(t, w, [2]string{"closed", "again"})
	assert.Equal(t, "still running", p.ID)
	assert.Empty(t, w.CloseOut())
}

// Somebody breaks the pump's file while a job is closed: it says so, and what the job
// came to all the same.
func TestAPumpsFileThatIsBrokenMeanwhile(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	for name, text := range map[string]string{"a mistake": "pump: {action: triplex-singel-acting}\n", "gone": ""} {
		t.Run(name, func(t *testing.T) {
			dir := folder(t, map[string]string{"pumps/pump-2.yaml": ofThePump, "jobs/wiper.yaml": "job: {pump: pump-2, date: 2026-10-20, closed: 2026-10-20}\npump: {state: running}\n"})
			w, err := NewWork(book, Chosen{File: filepath.Join(dir, "jobs", "wiper.yaml")}, onADay)
			require.NoError(t, err)
			p, err := w.Prompt()
			require.NoError(t, err)
			pump := filepath.Join(dir, "pumps", "pump-2.yaml")
			if text == "" {
				require.NoError(t, os.Remove(pump))
			} else {
				require.NoError(t, os.WriteFile(pump, []byte(text), 0o600))
			}
			require.NoError(t, w.Answer(prompt.Answer{Prompt: p.ID, Rests: p.Rests, Chosen: []string{"leave"}}))
			p, err = w.Prompt()
			require.NoError(t, err)
			assert.True(t, p.Over())
			assert.Equal(t, prompt.Lines(prompt.Text, "Closed 2026-10-20: nothing was proved."), p.Body)
			require.Error(t, w.Broken())
			var input *source.InputError
			if text == "" {
				assert.ErrorIs(t, w.Broken(), os.ErrNotExist)
			} else {
				assert.ErrorAs(t, w.Broken(), &input)
			}
			var problem *prompt.Problem
			assert.ErrorAs(t, w.Answer(prompt.Answer{Prompt: "hours", Chosen: []string{"write"}}), &problem)
		})
	}
}

// Somebody writes a mistake into the case: nothing more is taken.
func TestACaseThatIsBrokenMeanwhile(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	path := filepath.Join(folder(t, map[string]string{"case.yaml": "pump: {action: triplex-single-acting, state: running}\n"}), "case.yaml")
	w, err := NewWork(book, Chosen{File: path}, onADay)
	require.NoError(t, err)
	p, err := w.Prompt()
	require.NoError(t, err)
	require.NotNil(t, w.Report())
	require.NoError(t, os.WriteFile(path, []byte("pump: {action: none}\n"), 0o600))
	yes := prompt.Answer{Prompt: p.ID, Rests: p.Rests, Chosen: []string{"yes"}}
	require.NoError(t, w.Answer(yes))
	p = after(t, w)
	assert.True(t, p.Over() && w.InSitting())
	assert.Contains(t, p.News[0].Text, "NOT written")
	assert.Nil(t, w.Report())
	require.Error(t, w.Broken())
	var problem *prompt.Problem
	assert.ErrorAs(t, w.Answer(yes), &problem)
}

// Only what is offered is taken: a page hands on what came over the line.
func TestAChoiceTakesWhatItOffers(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	dir := folder(t, map[string]string{
		"pumps/pump-2.yaml": ofThePump, "jobs/open.yaml": "job: {pump: pump-2, date: 2026-10-20}\npump: {state: running}\n",
		"job.yaml": "pump: {action: triplex-single-acting, state: running}\n",
	})
	ofRig, err := NewRig(book, dir, onADay, nil)
	require.NoError(t, err)
	jobs, err := NewJobs(book, dir)
	require.NoError(t, err)
	for _, c := range []struct {
		talk   held
		id     string
		chosen func() Chosen
	}{{ofRig, "rig", ofRig.Chosen}, {jobs, "job", jobs.Chosen}} {
		for _, a := range []prompt.Answer{
			{Prompt: c.id, Chosen: []string{"../elsewhere.yaml"}}, {Prompt: c.id, Chosen: []string{prompt.Back}}, {Prompt: "state", Chosen: []string{"running"}},
			{Prompt: c.id, Text: "pump-2"}, {Prompt: c.id},
		} {
			var problem *prompt.Problem
			assert.ErrorAs(t, c.talk.Answer(a), &problem, "%v", a)
			assert.Zero(t, c.chosen())
		}
		p := after(t, c.talk)
		first := p.Options[0].ID
		p = after(t, c.talk, [2]string{c.id, first})
		assert.True(t, p.Over())
		assert.FileExists(t, c.chosen().File)
		var problem *prompt.Problem
		for _, id := range []string{c.id, p.ID} {
			assert.ErrorAs(t, c.talk.Answer(prompt.Answer{Prompt: id, Chosen: []string{first}}), &problem, "nothing is asked any more")
		}
	}
}

// The jobs of any folder: a new one is made there, in nobody's place.
func TestANewJobInAFolder(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	dir := folder(t, map[string]string{"job.yaml": "pump: {action: triplex-single-acting, state: running}\n"})
	j, err := NewJobs(book, dir)
	require.NoError(t, err)
	p := after(t, j, [2]string{"job", newJob})
	assert.Equal(t, "calls the file job-2.yaml", p.Entry.Blank)
	p = after(t, j, [2]string{"job name", "../.."})
	assert.Equal(t, "That has no letter or figure in it.", p.News[0].Text)
	after(t, j, [2]string{"job name", "../Pump 2"})
	assert.Equal(t, Chosen{File: filepath.Join(dir, "pump-2.yaml"), Called: "../Pump 2", In: dir}, j.Chosen())
	w, err := NewWork(book, j.Chosen(), onADay)
	require.NoError(t, err)
	assert.True(t, w.Empty())
	p = after(t, w)
	assert.Nil(t, w.Report())
	require.NoError(t, w.Answer(prompt.Answer{Prompt: p.ID, Rests: p.Rests, Chosen: []string{string(evidence.Triplex), string(evidence.Running)}}))
	k, err := w.Case()
	require.NoError(t, err)
	assert.Equal(t, "../Pump 2", k.Pump.Name)
}

// Somebody writes into the pump's file while a talk over a job of it is open: it is read
// again, said, and an answer that was given before is asked for again. With a mistake
// nothing is asked until it is mended.
func TestAPumpsFileThatIsChangedMeanwhile(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	dir := folder(t, map[string]string{"pumps/pump-2.yaml": ofThePump, "jobs/one.yaml": "job: {pump: pump-2, date: 2026-10-20}\npump: {state: running}\nfindings: {wiper-leaks: {again: [2]}}\n"})
	job, pump := filepath.Join(dir, "jobs", "one.yaml"), filepath.Join(dir, "pumps", "pump-2.yaml")
	w, err := NewWork(book, Chosen{File: job, In: dir}, onADay)
	require.NoError(t, err)
	p := after(t, w, [2]string{"still running", "yes"})
	write := func(liner string) {
		require.NoError(t, os.WriteFile(pump, []byte(strings.Replace(ofThePump, "6 1/2 in", liner, 1)), 0o600))
	}

	write("5 in")
	before := textOf(t, job)
	require.NoError(t, w.Answer(prompt.Answer{Prompt: p.ID, Rests: p.Rests, Chosen: []string{"no"}}))
	assert.True(t, w.TooLate())
	assert.Equal(t, before, textOf(t, job))
	p, err = w.Prompt()
	require.NoError(t, err)
	assert.Equal(t, "The file of the pump was changed by somebody else in between. It was read again. Your last answer was NOT written; please answer again.", p.News[0].Text)
	k, err := w.Case()
	require.NoError(t, err)
	assert.Equal(t, "5 in", k.Pump.Liner.Written)

	write("5 1/2 in")
	require.NoError(t, w.LookAgain())
	p, err = w.Prompt()
	require.NoError(t, err)
	assert.Equal(t, "The file of the pump was changed by somebody else in between. It was read again.", p.News[0].Text)
	assert.False(t, w.TooLate())

	write("wide")
	require.NoError(t, w.LookAgain())
	p, err = w.Prompt()
	require.NoError(t, err)
	assert.True(t, p.Over())
	var input *source.InputError
	require.ErrorAs(t, w.Broken(), &input)
	write("6 in")
	require.NoError(t, w.LookAgain())
	require.NoError(t, w.Broken())
	p = after(t, w)
	assert.False(t, p.Over(), "it is mended")
}

// Both files are changed at the same moment: both are read again, and both is said, over an
// answer and where nothing was answered.
func TestThePumpAndItsJobAreChangedAtOnce(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	const oneJob = "job: {pump: pump-2, date: 2026-10-20}\npump: {state: running}\nfindings: {wiper-leaks: {again: [2]}}\n"
	for _, answered := range []bool{true, false} {
		dir := folder(t, map[string]string{"pumps/pump-2.yaml": ofThePump, "jobs/one.yaml": oneJob})
		job, pump := filepath.Join(dir, "jobs", "one.yaml"), filepath.Join(dir, "pumps", "pump-2.yaml")
		w, err := NewWork(book, Chosen{File: job, In: dir}, onADay)
		require.NoError(t, err)
		p := after(t, w, [2]string{"still running", "yes"})
		theirs := strings.Replace(textOf(t, job), "wiper-leaks: {again: [2]}", "wiper-leaks: {again: [3]}", 1)
		change := func(liner, theirs string) {
			require.NoError(t, os.WriteFile(pump, []byte(strings.Replace(ofThePump, "6 1/2 in", liner, 1)), 0o600))
			require.NoError(t, os.WriteFile(job, []byte(theirs), 0o600))
			if answered {
				require.NoError(t, w.Answer(prompt.Answer{Prompt: p.ID, Rests: p.Rests, Chosen: []string{"no"}}))
				return
			}
			require.NoError(t, w.LookAgain())
		}
		change("5 in", theirs)
		assert.Equal(t, theirs, textOf(t, job))
		p, err = w.Prompt()
		require.NoError(t, err)
		news := bodyOf(p)
		assert.Contains(t, news, "The file of the pump was changed by somebody else in between. It was read again.\nThe case file was changed by somebody else in between.")
		assert.Equal(t, answered, strings.Contains(news, "Your last answer was NOT written"))
		assert.Equal(t, answered, w.TooLate())
		k, err := w.Case()
		require.NoError(t, err)
		assert.Equal(t, "5 in", k.Pump.Liner.Written)

		// While the pump's file has a mistake nothing is asked, whatever is in the job's.
		change("wide", oneJob)
		p, err = w.Prompt()
		require.NoError(t, err)
		assert.True(t, p.Over())
		require.Error(t, w.Broken())
		require.NoError(t, os.WriteFile(job, []byte(theirs), 0o600))
		require.NoError(t, w.LookAgain())
		require.Error(t, w.Broken())
		require.NoError(t, os.WriteFile(pump, []byte(ofThePump), 0o600))
		require.NoError(t, w.LookAgain())
		require.NoError(t, w.Broken())
		k, err = w.Case()
		require.NoError(t, err)
		assert.Equal(t, "6 1/2 in", k.Pump.Liner.Written)
	}
}
