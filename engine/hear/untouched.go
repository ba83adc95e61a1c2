package hear

import (
	"regexp"
	"strings"
)

// untouched are the ways to say that nothing was done on a pump lately. Each must
// be all that its clause says: "nothing was done about the leak" tells of the leak.
var untouched = regexp.MustCompile(`(?i)(?:^|[.,;:!?]|\b(?:and|but)\b)\s*((?:` +
	`(?:nothing(?: else)?|no (?:recent )?(?:work|repairs?|jobs?)) (?:was|were|has been|have been|got|is) (?:done|changed|worked on|touched|repaired|replaced)` +
	`|(?:nobody|no one|noone) (?:has )?(?:did anything|done anything|changed anything|worked|touched)` +
	`|(?:we )?(?:did not|didn't|didnt|have not|haven't|havent) (?:do|done|change|changed|touch|touched|work on|worked on) (?:anything|any work|a thing)` +
	`|no recent (?:work|repairs?|jobs?|changes?)` +
	`)(?: (?:on|to|at|with) (?:it|her|this|the pump|this pump|that pump))?(?: (?:lately|recently|before|this (?:tour|shift|week)|in the last (?:few )?(?:days|weeks)|these days|so far|yet))?)\s*(?:$|[.,;:!?])`)

// Untouched says whether a story tells that nothing was done on the pump lately,
// and gives the story without these words.
func Untouched(story string) (rest string, said bool) {
	at := untouched.FindStringSubmatchIndex(story)
	if at == nil {
		return story, false
	}
	return strings.TrimSpace(story[:at[2]] + story[at[3]:]), true
}
