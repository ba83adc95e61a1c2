package dialogue

import (
	"slices"
	"strings"

	"telltale/cmd/internal/prompt"
	"telltale/evidence/record"
)

// What was answered is not asked for ever: a talk goes on to the next thing, or it
// ends.

// mostAgain is how often one answer is taken to one prompt while the case says the
// same.
const mostAgain = 5

// says names what a case says, whatever its log: "" of none.
func says(text []byte) string {
	var all []string
	for _, c := range record.Changes(nil, text) {
		if c.Key != "log" {
			all = append(all, c.String())
		}
	}
	slices.Sort(all)
	return digest([]byte(strings.Join(all, "\n")))
}

// again counts an answer; true where it was given so often, with the case as it
// is, that it leads nowhere. Going back leads somewhere as long as there is anything
// to go back to.
func (r *round) again(s *State, a prompt.Answer) bool {
	if a.One() == prompt.Back && len(s.Said)+len(s.Before) > 0 {
		return false
	}
	key := digest([]byte(strings.Join(append([]string{says(r.text), a.Prompt, a.Text}, a.Chosen...), "\n")))
	s.Given[key]++
	return s.Given[key] > mostAgain
}

// inCircles ends a talk that goes round and round.
const inCircles = "The same was answered again and again, and the case says the same as before. The talk ends here. Whoever takes it up again goes on from there."
