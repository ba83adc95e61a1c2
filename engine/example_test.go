package engine_test

import (
	"fmt"
	"testing/fstest"

	"telltale/engine"
	"telltale/evidence"
	"telltale/rules"
)

// tiny is a whole rulebook: one sign that two causes show, one of them behind a
// cover.
const tiny = `rulebook: {name: tiny, version: "1"}
scale:
  how-common: {rare: 0.02, common: 0.1}
  shows: {at-times: 0.3, often: 0.7}
  finds: {surely: 0.9}
  background: {usual: 0.01}
  basis: judgement
planning: {least-gain: 0.01, basis: judgement}
haste:
  stop-now: {title: stop now, from: 0.15, running: Stop the pump now., standing: Keep it stopped.}
  next-connection: {title: at the next connection, from: 0.25, running: Stop it at the next connection., standing: Run it no longer than to the next connection.}
  planned-stop: {title: at the next planned stop, from: 0.3, running: It can run until the next planned stop., standing: It can run until the next planned stop.}
  watch: {title: watch it, running: Watch it., standing: Watch it.}
  well-first: {title: the well first, running: See to the well., standing: See to the well.}
  unsure: 0.1
  nothing-seen: Nothing was seen.
  unexplained: Nothing explains it.
  settled: All is put right.
  locked: The locks are still on.
  basis: judgement
teardown: {parts-from: 0.1, minutes-low: 0.8, minutes-high: 1.5, look-worth: 0.5, most-looks: 2, basis: judgement}
groups:
  fluid-end: {title: Fluid end, basis: judgement}
safety:
  stand-back: {title: Stand back, for: running, signal: warning, minutes: 1, do: Stand where nothing moves., basis: judgement}
  stop: {title: Stop the pump, for: stopping, signal: danger, minutes: 2, do: Agree it with the driller and stop., basis: judgement}
  lock: {title: Lock it off and prove it, for: isolation, signal: danger, in-full: true, minutes: 10, do: By the site's procedure., after: [stop], basis: judgement}
openings:
  cover: {title: Take the cover off, of: cylinder, minutes: 15, do: Take it off., close: {title: Put the cover on, minutes: 10, do: Put it on.}, basis: judgement}
signs:
  leak: {title: Mud leaks, ask: 'Does mud leak?', of: cylinder, pump: any, basis: judgement}
causes:
  packing-worn:
    {title: Packing worn, group: fluid-end, role: failure, of: cylinder, how-common: common, shows: {leak: often}, why: It wears., repair: Change it., look-again: Look for mud., parts: {packing: often},
     haste: {wait: planned-stop, because: It wears on slowly., basis: judgement}, basis: judgement}
  bolt-loose:
    {title: Bolt loose, group: fluid-end, role: root, of: cylinder, how-common: rare, shows: {leak: at-times}, why: It works loose., repair: Tighten it., look-again: Look for mud.,
     haste: {wait: next-connection, because: It comes off., basis: judgement}, basis: judgement}
checks:
  look-in: {title: Look at the packing, of: cylinder, pump: isolated, openings: [cover], minutes: 5, do: Look., finds: {packing-worn: surely}, results: [{if: It is worn., then: Change it., points-to: [packing-worn]}], basis: judgement}
  feel-bolt: {title: Feel the bolt, of: cylinder, pump: isolated, minutes: 2, do: Feel it., finds: {bolt-loose: surely}, results: [{if: It turns., then: Tighten it., points-to: [bolt-loose]}], basis: judgement}
parts:
  packing: {title: Packing, of: cylinder, reached-by: [cover], basis: judgement}
`

func tinyCase() (*rules.Book, *evidence.Case, error) {
	book, err := rules.Load(fstest.MapFS{"tiny.yaml": {Data: []byte(tiny)}}, "tiny")
	if err != nil {
		return nil, nil, err
	}
	k, err := evidence.ParseCase("case.yaml", []byte("pump: {action: triplex-single-acting, state: stopped}\nfindings: {leak: {present: [2], absent: others}}\n"), book.Vocabulary())
	return book, k, err
}

// The answer to a case: how likely each cause is and why, how long it can wait,
// and what to do in which order.
func ExampleDiagnose() {
	book, k, err := tinyCase()
	if err != nil {
		fmt.Println(err)
		return
	}
	r, err := engine.Diagnose(book, k)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(r.Haste.Verdict)
	for _, c := range r.Causes[:2] {
		fmt.Printf("%s (%s): %.2f\n", c.Title, c.Place, c.Probability)
		for _, reason := range c.For {
			fmt.Printf("  %s: %+.0f\n", r.Found[reason.Finding-1].Title, reason.Decibans)
		}
	}
	for _, s := range r.Steps {
		fmt.Printf("%d. %s (%.0f min)\n", s.Number, s.Title, s.Minutes)
	}
	// Output:
	// planned-stop
	// Packing worn (2): 0.68
	//   Mud leaks: +18
	// Bolt loose (2): 0.06
	//   Mud leaks: +10
	// 1. Lock it off and prove it (10 min)
	// 2. Take the cover off (15 min)
	// 3. Look at the packing (5 min)
	// 4. Feel the bolt (2 min)
	// 5. Put the cover on (10 min)
}

// The plan to open the pump once for a cause that is named, with the parts to
// have at hand.
func ExamplePlanTeardown() {
	book, k, err := tinyCase()
	if err != nil {
		fmt.Println(err)
		return
	}
	plan, err := engine.PlanTeardown(book, k, []evidence.At{{ID: "packing-worn", Place: evidence.Place{Cylinder: "2"}}})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, o := range plan.Opens {
		fmt.Printf("step %d opens: %s\n", o.Step, o.Title)
	}
	for _, s := range plan.Spares {
		fmt.Printf("%s: %.0f %%\n", s.Title, 100*s.Chance)
	}
	fmt.Printf("%.0f to %.0f min\n", plan.Times.Low, plan.Times.High)
	// Output:
	// step 2 opens: Take the cover off
	// Packing: 70 %
	// 32 to 60 min
}
