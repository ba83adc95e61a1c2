package cli

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/dialogue"
	"telltale/cmd/internal/talk"
	"telltale/engine/prove"
	"telltale/evidence"
	"telltale/rules"
)

// toldStories are the stories of one file of the proofs.
func toldStories(t *testing.T, book *rules.Book, file string) []*prove.Story {
	t.Helper()
	text, err := os.ReadFile("../../../rules/book/proofs/" + file)
	require.NoError(t, err)
	suite, err := prove.Load(book, prove.Dir{Files: fstest.MapFS{"proofs/" + file: {Data: text}}, Name: "."})
	require.NoError(t, err)
	return suite.Stories
}

// teller types what a tired hand types until the story is told: always yes.
type teller struct {
	story       *prove.Story
	screen, all bytes.Buffer
	keys, lines int
}

func (c *teller) Write(p []byte) (int, error) {
	c.all.Write(p)
	return c.screen.Write(p)
}

func (c *teller) Read(p []byte) (int, error) {
	screen := c.screen.String()
	c.screen.Reset()
	c.lines += strings.Count(screen, "\n")
	typed := c.typed(strings.Join(strings.Fields(screen), " "))
	if typed == "" {
		return 0, io.EOF
	}
	c.lines++ // of what is typed, the story too
	if typed != c.story.Told+"\n" {
		c.keys += len(typed)
	}
	c.all.WriteString(typed)
	return copy(p, typed), nil
}

func (c *teller) typed(shown string) string {
	for _, a := range []struct{ shows, answer string }{
		{"Enter for more", "\n"},
		{"What is the pump called?", "p2\n"},
		{"What pump is it, and how does it stand?", map[evidence.Action]string{evidence.Triplex: "1 3\n", evidence.Duplex: "2 3\n"}[c.story.Layout.Action]},
		{"Tell what you saw", c.story.Told + "\n"},
		{"Which is so?", "1\n"},
		{"would call for a stop", "n\n"},
		{"Is that right?", "y\n"},
	} {
		if strings.Contains(shown, a.shows) {
			return a.answer
		}
	}
	return ""
}

// From the first word to the first question, step or stop of use, its words among
// them, it takes at most 25 keys beside the story, Enter counted, and two screens of
// 24 lines. So it is for every story of up to nine observations; without
// TELLTALE_TALKS each seventh is told. Where something that was
// not well understood would call for a stop, asking for it takes some lines more.
func TestATalkIsShort(t *testing.T) {
	const mostKeys, mostLines, mostTold, ofAStop, every = 25, 48, 9, 6, 7
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	stories := toldStories(t, book, "told-tuned.yaml")
	for i, text := range []string{
		"wiper on two leaks again", "hiss in 2 on the suction stroke. valves were changed last week",
		"smoke is coming from the gear end", "we have a pit gain, and the well flows with the pumps off",
	} {
		stories = append(stories, &prove.Story{ID: fmt.Sprintf("short-%d", i+1), Layout: evidence.Layout{Action: evidence.Triplex}, Told: text, Meaning: make([]prove.Meaning, mostTold)})
	}
	var keys, lines []int
	for i, story := range stories {
		if n := len(story.Meaning); n > mostTold || i%every > 0 && os.Getenv("TELLTALE_TALKS") == "" {
			continue
		}
		t.Run(story.ID, func(t *testing.T) {
			t.Chdir(t.TempDir())
			c := &teller{story: story}
			terminal := talk.New(c, c, 80, 24)
			choice, err := dialogue.NewJobs(book, ".")
			require.NoError(t, err)
			require.NoError(t, terminal.Hold(choice))
			work, err := dialogue.NewWork(book, choice.Chosen(), time.Now)
			require.NoError(t, err)
			require.ErrorIs(t, terminal.Hold(work), talk.ErrEnd)
			assert.LessOrEqual(t, c.keys, mostKeys, c.all.String())
			most := mostLines
			if strings.Contains(c.all.String(), "would call for a stop") {
				most += ofAStop
			}
			assert.LessOrEqual(t, c.lines, most, c.all.String())
			keys, lines = append(keys, c.keys), append(lines, c.lines)
		})
	}
	slices.Sort(keys)
	slices.Sort(lines)
	t.Logf("%d stories; keys: median %d, most %d; lines: median %d, most %d", len(keys), keys[len(keys)/2], keys[len(keys)-1], lines[len(lines)/2], lines[len(lines)-1])
}
