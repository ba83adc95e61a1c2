package dialogue

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/prompt"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/rules"
)

// own is one of several sittings over a file, with what was confirmed in it since
// the pump was last isolated.
type own struct {
	*Sitting
	confirmed map[string]bool
}

// Several crews answer over one file at random, somebody notes things besides,
// and now and then one of the sittings is cut off and begun again. Whatever comes:
// the file is a case at every moment; an answer to what is not so any more
// changes nothing and says what changed; an answer takes nothing away that
// somebody else wrote, and goes back only over its own; and in no sitting do hands
// go in before what must be proved was confirmed in that sitting.
func TestSittingsInterleaved(t *testing.T) {
	stale, inside, backs := 0, 0, 0
	for seed := range max(2, randomTalks()/2) {
		r := rand.New(rand.NewPCG(47, uint64(seed)))
		c := newCrew(t, []string{proved, "pump: {action: triplex-single-acting, state: stopped}\nrecent: [mud-changed]\nfindings: {wiper-leaks: {again: [2]}}\n"}[seed%2])
		sittings := []*own{{c.sitting(), map[string]bool{}}, {c.sitting(), map[string]bool{}}}
		writer, wrote := []int{-1}, []string{c.file()} // who wrote each text
		stood, texts := c.parsed().Pump.State, map[string][]byte{}
		for range answersOfATalk {
			who := r.IntN(8) / 7
			s := sittings[who]
			p, err := s.Prompt()
			require.NoError(t, err)
			texts[p.Rests] = s.file.Text()
			if p.Over() || r.IntN(50) == 0 {
				sittings[who] = &own{c.sitting(), map[string]bool{}}
				continue
			}
			before := c.file()
			if r.IntN(20) == 0 { // somebody notes something
				file, err := record.Open("", c.path, c.book.Vocabulary(), false)
				require.NoError(t, err)
				_, err = file.Write(record.AddLog(evidence.LogEntry{Did: fmt.Sprintf("seen by the mud man %d", r.IntN(1000))}))
				require.NoError(t, err)
				before = c.file()
				writer, wrote = append(writer, -1), append(wrote, before)
			}
			a := anything(t, r, &p)
			require.NoError(t, s.Answer(a))
			next, err := s.Prompt()
			require.NoError(t, err)
			after, k := c.file(), c.parsed()
			if digest([]byte(before)) != p.Rests {
				stale++
				require.Contains(t, jsonOf(t, next.News), "NOT written")
				require.Contains(t, jsonOf(t, next.News), record.Changes(texts[p.Rests], []byte(before))[0].Key)
				if after == before { // or what had to follow by itself
					continue
				}
			}
			if after != before {
				was, err := evidence.ParseCase("case.yaml", []byte(before), c.book.Vocabulary())
				require.NoError(t, err)
				if len(k.Log) >= len(was.Log) && a.One() != prompt.Back {
					require.True(t, slices.Equal(was.Log, k.Log[:len(was.Log)]), "the log only grows")
				} else {
					backs++
					at := slices.Index(wrote, after)
					require.GreaterOrEqual(t, at, 0, "back to what was there")
					for _, w := range writer[at+1:] {
						require.Equal(t, who, w, "only over its own")
					}
					writer, wrote = writer[:at], wrote[:at]
				}
				writer, wrote = append(writer, who), append(wrote, after)
			}
			if step, ok := strings.CutPrefix(p.ID, "step safety "); ok && a.One() == "done" {
				s.confirmed[strings.Fields(step)[0]] = true
			}
			if slices.Index(safer, k.Pump.State) < slices.Index(safer, stood) {
				for _, s := range sittings {
					s.confirmed = map[string]bool{}
				}
			}
			stood = k.Pump.State
			inside += c.handsIn(&next, k, s.confirmed)
		}
	}
	assert.Positive(t, stale)
	assert.Positive(t, inside)
	assert.Positive(t, backs)
}

// safer are the states of a pump, the safest last.
var safer = []evidence.PumpState{evidence.Running, evidence.Stopped, evidence.Isolated}

// handsIn wants all that must be proved anew confirmed in this sitting, where a
// prompt lets hands in.
func (c *crew) handsIn(p *prompt.Prompt, k *evidence.Case, confirmed map[string]bool) int {
	c.t.Helper()
	id := strings.Fields(p.ID)
	in := id[0] == "step" && id[1] == "opening" || id[0] == "step" && id[1] == "check" && c.book.Checks.Get(id[2]).Pump == rules.NeedsIsolated ||
		id[0] == "repair" && c.book.Causes.Get(id[1]).Behind == rules.BehindPump && p.Options[0].ID == "corrected"
	if !in {
		return 0
	}
	require.Equal(c.t, evidence.Isolated, k.Pump.State, p.ID)
	for _, s := range c.book.Safety.List {
		if s.For == rules.ForIsolation && s.InFull && s.When.Holds(k, c.book) {
			require.True(c.t, confirmed[s.ID], "%s before %s", p.ID, s.ID)
		}
	}
	return 1
}
