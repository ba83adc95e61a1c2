package evidence_test

import (
	"fmt"

	"telltale/evidence"
)

// The words that a rulebook of one sign would give to the cases that are read
// with it.
func oneSign() evidence.Vocabulary {
	return evidence.Vocabulary{Signs: map[string]evidence.SignWord{
		"wiper-leaks": {Level: evidence.OfCylinder, Kinds: []string{"first", "again"}},
	}}
}

// A whole case, or nothing of it: what was not looked at stays out.
func ExampleParseCase() {
	k, err := evidence.ParseCase("case.yaml", []byte(`
pump: {name: Pump 2, action: triplex-single-acting, state: running, liner: 6 1/2 in}
findings:
  wiper-leaks: {again: [2], absent: [1]}
`), oneSign())
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s: %s, liner %.4f m\n", k.Pump.Name, k.Pump.State, k.Pump.Liner.SI)
	for _, f := range k.Findings {
		fmt.Println(f.Sign, f.Answer, f.Kind, f.At.Cylinder)
	}
	fmt.Println("cylinder 3 was looked at:", k.Known("wiper-leaks", evidence.Place{Cylinder: "3"}))
	// Output:
	// Pump 2: running, liner 0.1651 m
	// wiper-leaks present again 2
	// wiper-leaks absent  1
	// cylinder 3 was looked at: false
}

// Every mistake comes with its place and, where one is near, the valid name.
func ExampleParseCase_mistakes() {
	_, err := evidence.ParseCase("case.yaml", []byte(`pump: {action: triplex-single-acting, state: runing}
findings:
  wiper-leeks: present
`), oneSign())
	fmt.Println(err)
	// Output:
	// case.yaml:1:46: unknown state "runing"; expected one of: isolated, running, stopped; did you mean running?
	// case.yaml:3:3: unknown sign "wiper-leeks"; expected one of: wiper-leaks; did you mean wiper-leaks?
}

// A quantity keeps its unit as it was written beside its value in SI units.
func ExampleParseQuantity() {
	for _, text := range []string{"6 1/2 in", "165 mm", "2800 psi"} {
		q, err := evidence.ParseQuantity(text, evidence.Length)
		if err != nil {
			fmt.Println(err)
			continue
		}
		fmt.Printf("%s is %.4f m\n", q.Written, q.SI)
	}
	// Output:
	// 6 1/2 in is 0.1651 m
	// 165 mm is 0.1650 m
	// "2800 psi" is a pressure; expected a length of zero or more with its unit (cm, ft, in, m, mm, thou, µm)
}
