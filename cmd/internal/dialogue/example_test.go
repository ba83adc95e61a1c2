package dialogue_test

import (
	"encoding/json"
	"fmt"
	"time"

	"telltale/cmd/internal/dialogue"
	"telltale/cmd/internal/prompt"
	"telltale/rules"
)

// One answer to one prompt, with nothing kept between them but a text and a state
// that went through JSON.
func ExampleTalk() {
	book, err := rules.BuiltIn()
	if err != nil {
		panic(err)
	}
	talk := dialogue.Talk{Book: book, File: "case.yaml", Now: func() time.Time { return time.Date(2024, 2, 29, 3, 0, 0, 0, time.UTC) }}
	text := []byte("pump: {name: Larkspur pump 2, action: triplex-single-acting, state: running}\nfindings: {wiper-leaks: {again: [2]}}\n")
	p, _ := talk.Next(text, dialogue.NewState())
	shown, _ := json.MarshalIndent(p, "", "  ")
	fmt.Println(string(shown))

	a := prompt.Answer{Prompt: p.ID, Rests: p.Rests, Chosen: []string{"stopped"}}
	text, state, _ := talk.Answer(text, dialogue.NewState(), a)
	kept, _ := json.Marshal(state)
	fmt.Print(string(text))

	var again dialogue.State
	_ = json.Unmarshal(kept, &again)
	p, _ = talk.Next(text, again)
	fmt.Println(p.Body[0].Text, p.Ask)
	// Output:
	// {
	//   "id": "still running",
	//   "rests": "e92b386a800014a0",
	//   "body": [
	//     {
	//       "kind": "text",
	//       "text": "Larkspur pump 2: running. Findings so far: 1."
	//     },
	//     {
	//       "kind": "below",
	//       "text": "Seen: Wiper or seal of the diaphragm housing leaks: again soon after it was changed (2)."
	//     },
	//     {
	//       "kind": "below",
	//       "text": "Next check: Leaks at boxes, weep holes, covers and wipers, cylinder 2 (5 min)."
	//     }
	//   ],
	//   "ask": "Does it still stand so?",
	//   "options": [
	//     {
	//       "id": "yes",
	//       "title": "yes, it still runs"
	//     },
	//     {
	//       "id": "stopped",
	//       "title": "no, it is stopped"
	//     }
	//   ],
	//   "entry": {
	//     "beside": true
	//   },
	//   "back": "back",
	//   "leave": "leave"
	// }
	// pump: {name: Larkspur pump 2, action: triplex-single-acting, state: stopped}
	// findings: {wiper-leaks: {again: [2]}}
	// log:
	//   - {at: 2024-02-29T03:00:00Z, did: "said: it is stopped"}
	// In the last days: was work done on this pump, or something changed in mud, lines or string?
}
