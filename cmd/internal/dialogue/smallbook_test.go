package dialogue

import (
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"telltale/rules"
)

// smallBook is a book of this test alone, so that what its talks ask next does
// not change with the built-in book. Its figures are invented.
const smallBook = `rulebook: {name: small, version: "1"}
planning: {least-gain: 0.01, go-straight: {likely: 0.9, proves: 0.9}, basis: judgement}
scale:
  how-common: {common: 0.05, rare: 0.01}
  shows: {often: 0.6, almost-always: 0.9}
  finds: {surely: 0.95}
  background: {usual: 0.02, unmistakable: 0.0001}
  basis: judgement
groups: {rods: {title: Rods, basis: judgement}, turning: {title: Turning, basis: judgement}}
works:
  piston-changed: {title: Piston changed, basis: judgement}
  wipers-changed: {title: Wipers changed, basis: judgement}
signs:
  knock: {title: Knock, ask: "Does it knock?", of: cylinder, pump: running, basis: judgement}
  wiper-leaks: {title: Wiper leaks, ask: "Does the wiper leak?", of: cylinder, pump: any, kinds: {again: again soon after it was changed, first: for the first time}, basis: judgement}
  wiper-passes: {title: Something passes the wiper, ask: "What passes the wiper?", of: cylinder, pump: running, kinds: {mud: mud, oil: oil}, follows: [wiper-leaks], basis: judgement}
  pistons-fail-often: {title: Pistons fail often, ask: "Do pistons fail often here?", of: pump, pump: any, basis: judgement}
  rod-wobbles: {title: Rod wobbles, ask: "From outside the guards: does a rod wander?", of: cylinder, pump: running, background: unmistakable, basis: judgement}
causes:
  clamp-loose:
    title: Rod clamp loose
    group: rods
    of: cylinder
    how-common: common
    shows: {wiper-leaks: {again: often}, wiper-passes: {mud: often}, knock: often}
    why: The clamp lets go.
    repair: Tighten it.
    look-again: Look at the clamp again.
    ruins: The rods.
    haste: {wait: next-connection, because: It breaks., basis: judgement}
    basis: judgement
  guide-worn:
    title: Guide worn
    group: rods
    of: cylinder
    how-common: common
    shows: {wiper-leaks: {again: almost-always}, pistons-fail-often: often}
    why: It runs low.
    repair: Shim it.
    look-again: Measure again.
    ruins: Pistons.
    haste: {wait: planned-stop, because: It wears., basis: judgement}
    basis: judgement
  turns-in-reverse:
    title: Pump turns in reverse
    group: turning
    of: pump
    how-common: rare
    shows: {wiper-leaks: {again: often}, rod-wobbles: almost-always}
    why: The drive was wired the other way.
    repair: Wire it right.
    look-again: Look at the arrow.
    ruins: The upper guides.
    haste: {wait: stop-now, because: The oil is thrown the wrong way., basis: judgement}
    basis: judgement
openings:
  cover-off: {title: Take the cover off, of: cylinder, lies: power-end, minutes: 5, do: Off., close: {title: Put the cover on, minutes: 5, do: On.}, basis: judgement}
safety:
  stay-clear: {title: Stay clear, for: running, signal: warning, minutes: 1, do: Stay clear., basis: judgement}
  stop-it: {title: Stop the pump, for: stopping, signal: danger, minutes: 1, do: Stop it., basis: judgement}
  lock-off: {title: Lock the drive off, for: isolation, signal: danger, in-full: true, minutes: 5, do: Lock it., basis: judgement}
checks:
  try-clamp: {title: Try the clamp, of: cylinder, pump: isolated, openings: [cover-off], minutes: 5, do: Try it., finds: {clamp-loose: surely, guide-worn: surely}, results: [{if: It gives, then: Tighten it., points-to: [clamp-loose]}, {if: It runs low, then: Shim it., points-to: [guide-worn]}, {if: All right, then: Go on.}], basis: judgement}
  see-it-turn: {title: See which way it turns, of: pump, pump: running, minutes: 2, do: Look., finds: {turns-in-reverse: surely}, results: [{if: Against the arrow, then: Stop it., points-to: [turns-in-reverse]}, {if: With the arrow, then: Go on.}], basis: judgement}
stops:
  smoke: {signal: danger, title: It knocks everywhere, when: everywhere("knock"), do: [Stop it.], by: at-once, stop-pump: true, basis: judgement}
haste:
  stop-now: {title: now, from: 0.15, running: Stop now., standing: It stays.}
  next-connection: {title: soon, from: 0.25, running: Stop soon., standing: It may run.}
  planned-stop: {title: later, from: 0.3, running: Stop later., standing: It may run.}
  watch: {title: watch, running: Watch it., standing: Watch it.}
  well-first: {title: well, running: The well first., standing: The well first.}
  unsure: 0.1
  nothing-seen: Nothing seen.
  unexplained: Unexplained.
  settled: Settled.
  locked: Locks off first.
  basis: judgement
`

func newCrewOnSmallBook(t testing.TB) *crew {
	t.Helper()
	book, err := rules.Load(fstest.MapFS{"small.yaml": {Data: []byte(smallBook)}}, "small")
	require.NoError(t, err)
	c := newCrew(t, "")
	c.book = book
	return c
}
