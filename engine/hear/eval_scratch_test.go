package hear

import (
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"gopkg.in/yaml.v3"
	"telltale/evidence"
	"telltale/rules"
)

type truth struct {
	Words, Sign, Kind, Answer, Work, Check, Reading, Meaning string
	At                                                       []any
	OneOf                                                    []any `yaml:"one-of"`
	Guess, None                                              bool
	Or                                                       any
}
type tstory struct {
	ID, Action, Told string
	Heard            []truth
}

func TestEval(t *testing.T) {
	file := os.Getenv("EVAL")
	if file == "" {
		t.Skip()
	}
	b, _ := os.ReadFile(file)
	var in struct{ Stories []tstory }
	if err := yaml.Unmarshal(b, &in); err != nil {
		t.Fatal(err)
	}
	book, err := rules.BuiltIn()
	if err != nil {
		t.Fatal(err)
	}
	start := time.Now()
	l := New(book)
	fmt.Println("index", time.Since(start), len(l.phrases), "phrases")
	var n, first, three, polN, pol, placeN, place, kindN, kind, strongWrong, strongN, noneN, noneStrong, workN, work, checkN, check, guessN, guess int
	start = time.Now()
	only := os.Getenv("ONLY")
	for _, s := range in.Stories {
		if only != "" && only != s.ID {
			continue
		}
		if half := os.Getenv("HALF"); half != "" && (s.ID[len(s.ID)-1]-'0')%2 != half[0]-'0' {
			continue
		}
		layout := evidence.Layout{Action: evidence.Action(s.Action)}
		layout.Cylinders = evidence.DefaultCylinders(layout.Action)
		got := l.Hear(s.Told, layout)
		for _, tr := range s.Heard {
			at := strings.Index(s.Told, tr.Words)
			end := at + len(tr.Words)
			var cands []*Heard
			for i := range got.Heard {
				h := &got.Heard[i]
				if h.Start < end && at < h.End {
					cands = append(cands, h)
				}
			}
			ids := map[string]bool{}
			add := func(x any) {
				switch v := x.(type) {
				case string:
					ids[v] = true
				case []any:
					for _, e := range v {
						if es, ok := e.(string); ok {
							ids[es] = true
						} else if em, ok := e.(map[string]any); ok {
							for _, k := range []string{"sign", "work", "check"} {
								if es, ok := em[k].(string); ok {
									ids[es] = true
								}
							}
						}
					}
				}
			}
			want := tr.Sign + tr.Work + tr.Check
			ids[want] = true
			add(tr.Or)
			report := func(what string) {
				if os.Getenv("SHOW") == "" {
					return
				}
				fmt.Printf("%s %-7s %q want %s/%s %s %v\n", s.ID, what, tr.Words, want, tr.Kind, tr.Answer, tr.At)
				for _, c := range cands {
					fmt.Printf("        got %q %s %s/%s %s %v %s %.1f %s", c.Words, c.Is, c.ID, c.Kind, c.Answer, c.Places, c.Strength, c.score, c.Because)
					for _, o := range c.Others {
						fmt.Printf(" |%s/%s", o.ID, o.Kind)
					}
					fmt.Println()
				}
			}
			find := func(is Is) (rank int, h *Heard, answer string) {
				rank = 99
				for _, c := range cands {
					if c.Is == is && ids[c.ID] && (rank > 1 || tr.Answer == c.Answer && h.Answer != tr.Answer) {
						rank, h, answer = 1, c, c.Answer
					}
				}
				if rank == 1 {
					return
				}
				for _, c := range cands {
					for i, o := range c.Others {
						if ids[o.ID] && i+2 < rank {
							rank, h, answer = i+2, c, o.Answer
						}
					}
				}
				return
			}
			switch {
			case tr.Guess:
				guessN++
				ok := false
				for _, c := range cands {
					ok = ok || c.Is == IsGuess
				}
				if ok {
					guess++
				} else {
					report("GUESS")
				}
			case tr.None:
				noneN++
				for _, c := range cands {
					inside := c.Start >= at-3 && c.End <= end+3
					if inside && c.Strength == Strong && c.Is != IsGuess {
						noneStrong++
						report("NONE")
						break
					}
				}
			case tr.Work != "":
				workN++
				if r, _, _ := find(IsWork); r <= 1 {
					work++
				} else {
					report("WORK")
				}
			case tr.Check != "":
				checkN++
				if r, _, _ := find(IsCheck); r <= 3 {
					check++
				} else {
					report("CHECK")
				}
			case tr.Sign != "":
				n++
				r, h, answer := find(IsSign)
				if r == 1 {
					first++
				}
				if r <= 3 {
					three++
					polN++
					if answer == tr.Answer || tr.Answer == "unknown" && h.Answer == "unknown" {
						pol++
					} else {
						report("POL")
					}
					if tr.Kind != "" && tr.Answer == "present" {
						kindN++
						if h.Kind == tr.Kind && r == 1 {
							kind++
						} else if r == 1 {
							report("KIND")
						}
					}
					if len(tr.At)+len(tr.OneOf) > 0 {
						placeN++
						w := map[string]bool{}
						for _, x := range append(tr.At, tr.OneOf...) {
							p := fmt.Sprint(x)
							cyl := layout.Cylinders[int(p[0]-'1')]
							if len(p) > 1 {
								if strings.HasSuffix(p, "h") {
									cyl += " head"
								} else {
									cyl += " crank"
								}
							}
							w[cyl] = true
						}
						g := map[string]bool{}
						for _, p := range h.Places {
							g[p.String()] = true
						}
						if fmt.Sprint(w) == fmt.Sprint(g) || tr.Answer == "absent" && len(g) == 0 && len(w) == len(layout.Cylinders) {
							place++
						} else {
							report("PLACE")
						}
					}
				} else {
					report("SIGN")
				}
				for _, c := range cands {
					if c.Is == IsSign && c.Strength == Strong && c.Start >= at-2 && c.End <= end+2 {
						strongN++
						if !ids[c.ID] {
							strongWrong++
							report("STRONG")
						}
					}
				}
				if r == 2 || r == 3 {
					report("SECOND")
				}
			}
		}
	}
	pc := func(a, b int) string { return fmt.Sprintf("%d/%d=%.0f%%", a, b, 100*float64(a)/float64(max(b, 1))) }
	fmt.Println("first", pc(first, n), "three", pc(three, n), "polarity", pc(pol, polN), "place", pc(place, placeN), "kind", pc(kind, kindN), "strong wrong", pc(strongWrong, strongN), "none strong", pc(noneStrong, noneN), "work", pc(work, workN), "check", pc(check, checkN), "guess", pc(guess, guessN), "time/story", time.Since(start)/time.Duration(len(in.Stories)))
}
