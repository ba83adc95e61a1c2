package site

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"telltale/cmd/internal/dialogue"
	"telltale/cmd/internal/prompt"
)

const wiper = `# The pump next to the shaker house.
pump: {name: Pump 2, action: triplex-single-acting, state: running}
findings:
  wiper-leaks: {again: [2]}
`

// lately is a tab that is asked what was done lately.
func lately(t testing.TB, s *Site, job string) *window {
	t.Helper()
	b := open(t, s, "/job/"+job).press("yes, it still runs")
	require.Contains(t, b.asked(), "was work done on this pump")
	return b
}

func TestTwoTabsOnOneCase(t *testing.T) {
	dir := folderOf(t, map[string]string{"wiper.yaml": wiper})
	s := siteOver(t, dir)
	one := lately(t, s, "wiper").press("yes")
	two := open(t, s, one.at)
	require.Equal(t, one.asked(), two.asked())

	t.Run("what was ticked too late is told with what changed", func(t *testing.T) {
		at, sends := two.button("these that are ticked")
		one.tick("these that are ticked", "piston-changed")
		require.Empty(t, one.refused())
		before := read(t, filepath.Join(dir, "wiper.yaml"))
		require.Contains(t, before, "piston-changed")
		sends.Add(fieldChosen, "liner-changed")
		sends.Add(fieldChosen, "mud-changed")
		two.post(at, sends)
		assert.Equal(t, http.StatusConflict, two.status)
		assert.Contains(t, two.refused(), "NOT taken")
		assert.Contains(t, two.refused(), "recent: added: piston-changed")
		assert.Contains(t, two.refused(), "Your answer was: Liner changed; Mud changed")
		assert.Equal(t, before, read(t, filepath.Join(dir, "wiper.yaml")), "nothing of it is written")
		assert.Equal(t, one.asked(), two.asked(), "and both are asked the same now")
	})
	t.Run("what was told too late is told again", func(t *testing.T) {
		at, sends := two.typing("It knocks\non cylinder 1.")
		one.press("don't know")
		require.Empty(t, one.refused())
		two.post(at, sends)
		assert.Equal(t, http.StatusConflict, two.status)
		assert.Contains(t, two.refused()+two.typed(), "It knocks on cylinder 1.")
	})
}

// A story that is told to the question that is asked still comes back in its field.
func TestWhatWasTypedComesBack(t *testing.T) {
	dir := folderOf(t, map[string]string{"wiper.yaml": wiper})
	b := lately(t, siteOver(t, dir), "wiper")
	at, sends := b.typing("Something knocks.")
	edited := strings.Replace(wiper, "Pump 2", "Pump two", 1)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "wiper.yaml"), []byte(edited), 0o600))
	b.post(at, sends)
	assert.Equal(t, http.StatusConflict, b.status)
	assert.Equal(t, "Something knocks.", b.typed())
	assert.NotContains(t, b.refused(), "Your answer was")
	assert.Contains(t, said(b.page), "pump: name: was Pump 2, is now Pump two")
	assert.Equal(t, edited, read(t, filepath.Join(dir, "wiper.yaml")))

	b.press("yes")
	edited = strings.Replace(wiper, "Pump 2", "Pump three", 1)
	at, sends = b.button("these that are ticked")
	sends[fieldChosen] = []string{"piston-changed", "liner-changed"}
	require.NoError(t, os.WriteFile(filepath.Join(dir, "wiper.yaml"), []byte(edited), 0o600))
	b.post(at, sends)
	assert.Equal(t, http.StatusConflict, b.status)
	assert.Contains(t, b.refused(), "Piston or piston rod changed; Liner changed", "it is asked from its first question on")

	b.press("yes")
	at, sends = b.button("these that are ticked")
	sends[fieldChosen] = []string{"piston-changed", "liner-changed", "nonsense"}
	b.post(at, sends)
	assert.Equal(t, http.StatusUnprocessableEntity, b.status)
	assert.Equal(t, []string{"piston-changed", "liner-changed"}, b.ticked(), "these need not be ticked again")
}

// Somebody at a terminal, somebody with an editor and two tabs: each is told what the
// others did, in each tab, and nobody's answer goes by what is not so any more.
func TestEverybodyIsToldWhatTheOthersDid(t *testing.T) {
	dir := folderOf(t, map[string]string{"wiper.yaml": wiper})
	path := filepath.Join(dir, "wiper.yaml")
	s := siteOver(t, dir)
	one, two := lately(t, s, "wiper"), open(t, s, "/job/wiper")

	terminal, err := dialogue.NewWork(s.book, dialogue.Chosen{File: path}, onADay)
	require.NoError(t, err)
	answer := func(id string) {
		p, err := terminal.Prompt()
		require.NoError(t, err)
		require.NoError(t, terminal.Answer(prompt.Answer{Prompt: p.ID, Rests: p.Rests, Chosen: []string{id}}))
	}
	answer("stopped")
	for _, b := range []*window{open(t, s, "/job/wiper"), open(t, s, "/job/wiper")} {
		assert.Contains(t, said(b.page), "pump: state: was running, is now stopped", "each tab that loads is told")
	}
	one.press("no")
	assert.Equal(t, http.StatusConflict, one.status)
	assert.Contains(t, said(one.page), "pump: state: was running, is now stopped")
	one.press("no")
	require.Empty(t, one.refused())
	two.press("no")
	assert.Equal(t, http.StatusConflict, two.status)
	assert.Contains(t, two.refused(), "pump: state: was running, is now stopped", "so is who loads nothing")

	p, err := terminal.Prompt()
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(path, append([]byte("# By hand.\n"), read(t, path)...), 0o600))
	require.NoError(t, terminal.Answer(prompt.Answer{Prompt: p.ID, Rests: p.Rests, Chosen: []string{p.Options[0].ID}}))
	assert.True(t, terminal.TooLate(), "and so is the terminal")
}

// Somebody breaks the file by hand while it is talked over, and mends it again.
func TestAMistakeByHandIsNamedAndMended(t *testing.T) {
	dir := folderOf(t, map[string]string{"wiper.yaml": wiper})
	path := filepath.Join(dir, "wiper.yaml")
	b := lately(t, siteOver(t, dir), "wiper")
	require.NoError(t, os.WriteFile(path, []byte(strings.Replace(wiper, "again", "agin", 1)), 0o600))
	at, sends := b.typing("It knocks.")
	b.post(at, sends)
	assert.Equal(t, http.StatusConflict, b.status)
	assert.Contains(t, b.refused(), "wiper.yaml:4:", "where the mistake stands")
	assert.Contains(t, b.refused(), "It knocks.")
	b.get("/job/wiper")
	assert.Contains(t, b.refused(), "wiper.yaml:4:")
	require.NoError(t, os.WriteFile(path, []byte(wiper), 0o600))
	b.get("/job/wiper")
	assert.Equal(t, http.StatusOK, b.status)
	assert.Empty(t, b.refused())
	assert.Contains(t, b.asked(), "still stand so", "the talk begins anew")
	assert.Contains(t, b.press("yes, it still runs").asked(), "was work done")
}

func TestAFileThatIsGone(t *testing.T) {
	dir := folderOf(t, map[string]string{"wiper.yaml": wiper})
	path := filepath.Join(dir, "wiper.yaml")
	b := lately(t, siteOver(t, dir), "wiper")
	require.NoError(t, os.Rename(path, path+".away"))
	at, sends := b.typing("It knocks.")
	b.post(at, sends)
	assert.Contains(t, b.refused(), "was moved or deleted")
	assert.Contains(t, b.refused()+b.typed(), "It knocks.")
	assert.NoFileExists(t, path, "it is not written again by itself")
	require.NoError(t, os.Rename(path+".away", path))
	b.post(at, sends)
	assert.Equal(t, http.StatusOK, b.status, "%s", b.refused())
}

func TestADoublePressIsOneAnswer(t *testing.T) {
	dir := folderOf(t, map[string]string{"wiper.yaml": wiper})
	path := filepath.Join(dir, "wiper.yaml")
	b := open(t, siteOver(t, dir), "/job/wiper")
	at, sends := b.button("no, it is stopped")
	b.post(at, sends)
	require.Equal(t, http.StatusOK, b.status)
	once, asked := read(t, path), b.asked()
	require.Contains(t, once, "stopped")
	b.post(at, sends)
	assert.Equal(t, http.StatusOK, b.status)
	assert.Equal(t, asked, b.asked())
	assert.Equal(t, once, read(t, path))
	b.press("yes")
	b.post(at, sends)
	assert.Equal(t, http.StatusConflict, b.status, "the browser's way back, and the button again")
	assert.Contains(t, b.refused(), "Your answer was: no, it is stopped")
	assert.Equal(t, once, read(t, path))
}

// The last button before a job leads to the same job, however often it is pressed.
func TestADoublePressBeginsOneJob(t *testing.T) {
	dir := copied(t, demoRig)
	s := siteOver(t, dir)
	jobs := func() int {
		files, err := filepath.Glob(filepath.Join(dir, "jobs", "*.yaml"))
		require.NoError(t, err)
		return len(files)
	}
	before := jobs()
	b := open(t, s, "/").press("a new job on Larkspur pump 2")
	b.press("a new job all the same")
	b.press("nobody reads it now")
	at, sends := b.button("it runs")
	b.post(at, sends)
	require.Equal(t, before+1, jobs())
	job := b.at
	require.Contains(t, job, "/job/2026-10-20-pump-2-job")
	assert.Equal(t, job, b.post(at, sends).at)
	assert.Equal(t, job, b.get(at).at, "so does the way back")
	assert.Equal(t, before+1, jobs())

	t.Run("and its file is renamed under another tab", func(t *testing.T) {
		two := open(t, s, job)
		typedAt, typed := two.typing("The suction valve of cylinder 3 knocks.")
		for tell := b.words("The wiper of cylinder 2 leaks again."); tell.at == job; {
			require.Equal(t, http.StatusOK, tell.status, "%s", tell.refused())
			yes, sends := tell.firstButton()
			tell.post(yes, sends)
		}
		require.Contains(t, b.at, "wiper-leaks")
		two.post(typedAt, typed)
		assert.Equal(t, http.StatusConflict, two.status)
		assert.Contains(t, two.refused()+two.typed(), "The suction valve of cylinder 3 knocks.")
		assert.Equal(t, b.at, two.get(job).at, "the address of before leads there")
		assert.Equal(t, b.at, two.get(at).at)

		three := open(t, s, "/").press("a new job on Larkspur pump 2").press("a new job all the same").press("nobody reads it now").press("it runs")
		require.Equal(t, job, three.at, "the name is free again")
		assert.NotContains(t, said(three.page), "wiper")
		two.post(typedAt, typed)
		assert.Equal(t, b.asked(), two.asked(), "a form of before still goes to its own job")
	})
}

// firstButton is the first button of the page.
func (b *window) firstButton() (string, url.Values) {
	b.t.Helper()
	for _, f := range all(b.page, "form") {
		if len(all(f, "button")) > 0 {
			at, sends := b.button(said(all(f, "button")[0]))
			return at, sends
		}
	}
	require.Fail(b.t, "there is no button", "%s", said(b.page))
	return "", nil
}

// Of a form of an earlier start nothing is taken, and it is said what it was.
func TestAFormOfAnEarlierStart(t *testing.T) {
	dir := folderOf(t, map[string]string{"wiper.yaml": wiper})
	old := lately(t, siteOver(t, dir), "wiper")
	at, sends := old.typing("It knocks.")
	b := open(t, siteOver(t, dir), "/job/wiper").post(at, sends)
	assert.Equal(t, http.StatusConflict, b.status)
	assert.Contains(t, b.refused(), "begun anew")
	assert.Contains(t, b.refused()+b.typed(), "It knocks.")
	assert.Contains(t, b.asked(), "still stand so")
}

// A conversation that was let go for others loses nothing that was answered, and a form
// of it is not taken by the one that begins anew.
func TestManySittings(t *testing.T) {
	files := map[string]string{}
	const most = 12
	for n := range most + 8 {
		files[fmt.Sprintf("job-%d.yaml", n)] = "pump: {action: triplex-single-acting, state: running}\n"
	}
	dir := folderOf(t, files)
	s := siteOver(t, dir)
	s.desks.most = most
	first := open(t, s, "/job/job-0").press("no, it is stopped")
	at, sends := first.button("don't know")
	for n := 1; n < len(files); n++ {
		first.get(fmt.Sprintf("/job/job-%d", n))
		require.Equal(t, http.StatusOK, first.status)
	}
	assert.Len(t, s.desks.all, most)
	require.Contains(t, read(t, filepath.Join(dir, "job-0.yaml")), "stopped")
	first.post(at, sends)
	assert.Equal(t, http.StatusConflict, first.status)
	assert.Contains(t, first.asked(), "still stand so")
	for n := range 3 * most {
		first.get(fmt.Sprintf("/job/nothing-%d", n))
		require.Equal(t, http.StatusNotFound, first.status)
	}
	assert.Equal(t, http.StatusOK, first.get(fmt.Sprintf("/job/job-%d", len(files)-1)).status)
	assert.LessOrEqual(t, len(s.desks.all), most, "addresses of nothing put nobody out")
}

// Many tabs press buttons over some jobs at once. Each turn is answered by one of them,
// and the same answers one after the other come to the same files.
func TestManyTabsAtOnce(t *testing.T) {
	const jobs, tabs, answers = 2, 3, 4
	files := map[string]string{}
	for n := range jobs {
		files[fmt.Sprintf("job-%d.yaml", n)] = wiper
	}
	dir := folderOf(t, files)
	s := siteOver(t, dir)
	var taken [jobs]map[string]url.Values // by their turn
	for n := range taken {
		taken[n] = map[string]url.Values{}
	}
	var mine sync.Mutex
	var group sync.WaitGroup
	for n := range jobs * tabs {
		job, draw := n%jobs, rand.New(rand.NewPCG(uint64(n), 1))
		group.Go(func() {
			b := open(t, s, fmt.Sprintf("/job/job-%d", job))
			for done := 0; done < answers; {
				at, sends := b.anyAnswer(draw)
				if sends.Has(fieldAnew) {
					return // it is over
				}
				if b.post(at, sends); b.status != http.StatusOK {
					assert.NotEmpty(t, b.refused())
					b.get(at)
					continue
				}
				done++
				mine.Lock()
				if before := taken[job][sends.Get(fieldTurn)]; before != nil {
					assert.Equal(t, answerOf(before), answerOf(sends), "only the same answer is taken twice")
				}
				taken[job][sends.Get(fieldTurn)] = sends
				mine.Unlock()
				open(t, s, at+"/all")
				open(t, s, "/")
			}
		})
	}
	group.Wait()

	again := folderOf(t, files)
	for job := range taken {
		name := fmt.Sprintf("job-%d", job)
		b := open(t, siteOver(t, again), "/job/"+name)
		of := s.desks.all["/job/"+name]
		require.Len(t, taken[job], of.turns, "no turn is answered twice, none by nobody")
		require.GreaterOrEqual(t, of.turns, answers)
		for turn := range of.turns {
			sends := taken[job][of.named(turn)]
			require.NotNil(t, sends)
			sends.Set(fieldTurn, b.turn())
			b.post("/job/"+name, sends)
			require.Equal(t, http.StatusOK, b.status, "%s", b.refused())
		}
		assert.Equal(t, read(t, filepath.Join(again, name+".yaml")), read(t, filepath.Join(dir, name+".yaml")))
	}
}

// anyAnswer presses one of the buttons of the page, with a box that is ticked where it
// takes some, or types a name where nothing else is an answer.
func (b *window) anyAnswer(draw *rand.Rand) (string, url.Values) {
	var posts []*html.Node
	for _, f := range all(b.page, "form") {
		if class := attr(f, "class"); class != "words" && class != "back" {
			posts = append(posts, f)
		}
	}
	if posts == nil {
		return b.typing("J. Reed")
	}
	f := posts[draw.IntN(len(posts))]
	buttons := all(f, "button")
	pressed, sends := buttons[draw.IntN(len(buttons))], fieldsOf(f)
	sends.Add(attr(pressed, "name"), attr(pressed, "value"))
	if boxes := all(f, "label"); len(boxes) > 0 {
		sends.Add(fieldChosen, attr(all(boxes[draw.IntN(len(boxes))], "input")[0], "value"))
	}
	sends.Del("")
	return attr(f, "action"), sends
}

// turn is the turn of the page.
func (b *window) turn() string {
	for _, in := range all(b.page, "input") {
		if attr(in, "name") == fieldTurn {
			return attr(in, "value")
		}
	}
	return ""
}

// A desk that was left or moved while others waited for it is not the one that they
// get.
func TestWhoWaitedForADesk(t *testing.T) {
	d := newDesks()
	none := func() (conversation, error) { return nil, errors.New("nothing begins here") }
	talk := overCase{}
	k, err := d.sit("/job/a", func() (conversation, error) { return talk, nil })
	require.NoError(t, err)
	got := make(chan error)
	for range 2 {
		go func() {
			_, err := d.sit("/job/a", none)
			got <- err
		}()
	}
	for waiting := 1; waiting < 3; runtime.Gosched() {
		d.Lock()
		waiting = d.used
		d.Unlock()
	}
	d.move(k, "/job/b")
	k.Unlock()
	for range 2 {
		assert.Error(t, <-got, "nobody sits at the address of before")
	}
	assert.Equal(t, map[string]*desk{"/job/b": k}, d.all)
	assert.Equal(t, "/job/b", d.movedTo("/job/a", ""))
	again, err := d.sit("/job/b", none)
	require.NoError(t, err)
	d.leave(again)
	d.move(again, "/job/c")
	again.Unlock()
	assert.Empty(t, d.all, "what was left stays so")
}

// Who confirms belongs to a tab: two people at one job do not answer in each other's
// name, and the pages beside the job lead back with it.
func TestEachTabHasItsOwnWhoConfirms(t *testing.T) {
	dir := folderOf(t, map[string]string{"wiper.yaml": wiper})
	s := siteOver(t, dir)
	one := lately(t, s, "wiper").press("no")
	for n := 0; !one.offers("who confirms"); n++ {
		require.Less(t, n, 40, one.asked())
		one.press("don't know")
	}
	two := open(t, s, "/job/wiper")
	one.press("who confirms: nobody named").words("A. Hand")
	assert.True(t, one.offers("who confirms: A. Hand"))
	two.get(two.at)
	assert.True(t, two.offers("who confirms: nobody named"))
	one.press("done")
	two.get(two.at).press("done")
	one.get("/job/wiper/sheet?by=A.+Hand")
	for _, a := range all(one.page, "a") {
		if said(a) == "This job" {
			one.get(attr(a, "href"))
			break
		}
	}
	assert.True(t, one.offers("who confirms: A. Hand"))
	one.press("done")
	var by []string
	for line := range strings.Lines(read(t, filepath.Join(dir, "wiper.yaml"))) {
		if strings.Contains(line, "confirmed: ") {
			by = append(by, fmt.Sprint(strings.Contains(line, "by: A. Hand")))
		}
	}
	assert.Equal(t, []string{"true", "false", "true"}, by)
}

// A long list is in piles by where a thing is seen, and only the first lies open; a word
// in the box above narrows it.
func TestALongListIsInPiles(t *testing.T) {
	s := siteOver(t, folderOf(t, map[string]string{"wiper.yaml": wiper}))
	b := lately(t, s, "wiper").press("no").press("report")
	var piles, open []string
	buttons := 0
	for _, d := range all(b.page, "details") {
		if len(all(d, "button")) < 2 {
			continue
		}
		heading := said(all(d, "summary")[0])
		piles = append(piles, heading[:strings.LastIndex(heading, " (")])
		if has(d, "open") {
			open = append(open, heading)
		}
		assert.True(t, strings.HasSuffix(heading, fmt.Sprintf(" (%d)", len(all(d, "button")))), heading)
		buttons += len(all(d, "button"))
	}
	assert.Equal(t, []string{"The whole pump, from outside", "One cylinder, from outside"}, piles, "it runs: nothing is open")
	assert.Len(t, open, 1)
	assert.Greater(t, buttons, 50)
	b.words("wiper")
	assert.True(t, b.offers("wiper"))
	for _, d := range all(b.page, "details") {
		assert.Less(t, len(all(d, "button")), 2, "what a word finds is not in piles")
	}
}
