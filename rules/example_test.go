package rules_test

import (
	"fmt"
	"testing/fstest"

	"telltale/evidence"
	"telltale/rules"
)

// The built-in book, and what it knows of one cause.
func ExampleBuiltIn() {
	book, err := rules.BuiltIn()
	if err != nil {
		fmt.Println(err)
		return
	}
	cause := book.Causes.Get("rod-clamp-misfitted")
	fmt.Println(cause.Title)
	for _, check := range book.ChecksFor(cause.ID) {
		fmt.Println("shown by:", check.ID)
	}
	// Output:
	// Rod clamp badly fitted; the rods do not meet in line
	// shown by: rod-clamp-look
	// shown by: rod-joint-torque
}

// A rig's own book over the built-in one: it changes the keys that it gives,
// says so, and is refused where it would make the work less safe.
func ExampleLoadOver() {
	local := func(text string) fstest.MapFS {
		return fstest.MapFS{"ours.yaml": {Data: []byte("rulebook: {name: our rig, version: '1'}\n" + text)}}
	}
	book, err := rules.LoadOver(local("causes: {piston-worn: {how-common: 0.2, basis: judgement}}\n"), "ours")
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(book.Local.Name, book.Causes.Get("piston-worn").Common, book.Causes.Get("piston-worn").FromLocal)
	_, err = rules.LoadOver(local("safety: {lock-power: {do: Leave the breaker closed., basis: judgement}}\n"), "ours")
	fmt.Println(err)
	// Output:
	// our rig 0.2 true
	// ours/ours.yaml:2:27: a local book cannot change "do" of lock-power: it stays as the built-in book has it; add an entry of its own beside it instead
}

// The words of a book are what a case is read with.
func ExampleBook_Vocabulary() {
	book, err := rules.BuiltIn()
	if err != nil {
		fmt.Println(err)
		return
	}
	k, err := evidence.ParseCase("case.yaml", []byte("pump: {action: triplex-single-acting, state: running}\nfindings: {pit-gain: present}\n"), book.Vocabulary())
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, stop := range book.Stops.List {
		if stop.When.Holds(k, book) {
			fmt.Println(stop.Signal, stop.Title)
		}
	}
	// Output:
	// danger The well may be flowing
}
