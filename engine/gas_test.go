package engine

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

// What touches the gas of a dampener or a stabiliser, in the words of the book.
var (
	gasVessel = regexp.MustCompile(`(?i)dampener|stabiliser`)
	gasTouch  = regexp.MustCompile(`(?i)\bgas\b|\bcharge[ds]?\b|\bcharging\b|bladder`)
	mudCharge = regexp.MustCompile(`(?i)charge (pump|pressure)`) // of the suction side
	nitrogen  = regexp.MustCompile(`(?i)(only nitrogen|nitrogen only|but nitrogen|use nitrogen)`)
	noOxygen  = regexp.MustCompile(`(?i)never oxygen, never air`)
	keepsAway = regexp.MustCompile(`(?i)^stand clear|nobody goes near`)
	zeroGauge = regexp.MustCompile(`(?i)zero does not prove|zero gauge does not prove`)
)

// Common practice, no source: only nitrogen goes into a dampener, never oxygen
// or air, and a gauge at zero is no proof that the gas is gone. Whatever touches
// that gas says the first, and what is done at it before it is opened or charged
// says the second too. A sign that tells people to keep away has nobody touch it: the
// stop that it raises opens nothing and says both.
func TestTheGasOfADampenerIsNitrogenOnly(t *testing.T) {
	book := builtIn(t)
	of := func(e rules.Entry, texts ...string) (touches bool, all string) {
		all = strings.Join(texts, " ")
		vessel := gasVessel.MatchString(e.ID) || gasVessel.MatchString(e.Title) || gasVessel.MatchString(all)
		return vessel && gasTouch.MatchString(mudCharge.ReplaceAllString(all, "")), all
	}
	saysNitrogen := func(id, text string) {
		assert.Regexp(t, nitrogen, text, id)
		assert.Regexp(t, noOxygen, text, id)
	}
	touched := map[string]bool{}
	for _, c := range book.Checks.List {
		texts := []string{c.Do}
		if gasVessel.MatchString(c.ID + c.Title) {
			for _, r := range c.Results {
				texts = append(texts, r.Then)
			}
		}
		if yes, text := of(c.Entry, texts...); yes && c.Pump == rules.NeedsIsolated {
			touched[c.ID] = true
			assert.Contains(t, c.Safety, "nitrogen-only", c.ID)
			saysNitrogen(c.ID, c.Do)
			assert.Regexp(t, zeroGauge, text, c.ID)
		}
	}
	for _, c := range book.Causes.List {
		if !slices.ContainsFunc(book.ChecksFor(c.ID), func(k *rules.Check) bool { return touched[k.ID] }) {
			if yes, text := of(c.Entry, c.Repair, c.LookAgain); yes {
				touched[c.ID] = true
				saysNitrogen(c.ID, text)
			}
			continue
		}
		touched[c.ID] = true
		saysNitrogen(c.ID, c.Repair)
		saysNitrogen(c.ID, c.LookAgain)
		assert.Regexp(t, zeroGauge, c.Repair, c.ID)
		back := slices.ContainsFunc(book.Returns.List, func(r *rules.Return) bool {
			k := rules.BareCase("triplex-single-acting")
			k.Confirmed = append(k.Confirmed, evidence.At{ID: c.ID})
			return r.ID == "gas-charged" && r.When.Holds(k, book)
		})
		assert.True(t, back, "%s: nitrogen again in the return to service", c.ID)
	}
	for _, s := range book.Safety.List {
		if yes, text := of(s.Entry, s.Do); yes && s.ID != "prepare-isolation" || s.ID == "nitrogen-only" {
			touched[s.ID] = true
			saysNitrogen(s.ID, text)
			assert.Regexp(t, zeroGauge, text, s.ID)
			if s.TakenOver != nil {
				saysNitrogen(s.ID, s.TakenOver.Do)
				assert.Regexp(t, zeroGauge, s.TakenOver.Do, s.ID)
			}
		}
	}
	held := map[string]bool{} // by a sign that touches nothing
	for _, s := range book.Signs.List {
		if yes, _ := of(s.Entry, s.Ask); yes {
			if keepsAway.MatchString(s.Tell) {
				k := rules.BareCase("triplex-single-acting")
				k.Findings = []evidence.Finding{{Sign: s.ID, Answer: evidence.Present, Over: k.Pump.Places(s.Level)}}
				stop := slices.IndexFunc(book.Stops.List, func(stop *rules.Stop) bool { return stop.When.Holds(k, book) && stop.OpenNothing })
				require.GreaterOrEqual(t, stop, 0, s.ID)
				held[book.Stops.List[stop].ID] = true
				continue
			}
			touched[s.ID] = true
			saysNitrogen(s.ID, s.Tell)
			assert.Regexp(t, zeroGauge, s.Tell, s.ID)
		}
	}
	for _, s := range book.Stops.List {
		if yes, text := of(s.Entry, s.Do...); yes || held[s.ID] {
			touched[s.ID] = true
			saysNitrogen(s.ID, text)
			assert.Regexp(t, zeroGauge, text, s.ID)
		}
	}
	for _, r := range book.Returns.List {
		if yes, text := of(r.Entry, r.Title, r.Do); yes {
			touched[r.ID] = true
			saysNitrogen(r.ID, text)
		}
	}
	for _, id := range []string{
		"dampener-gas-check", "stabiliser-look", "dampener-charge-wrong", "dampener-bladder-burst", "stabiliser-failed", "relief-set-wrong",
		"remember-dampener", "nitrogen-only", "dampener-gas", "dampener-mud-at-valve", "gas-charged",
		"dampener-wrong-gas", "dampener-leaks-gas",
	} {
		assert.True(t, touched[id], "%s touches the gas", id)
	}
}

// Every list that has a hand at the gas says it in its steps.
func TestEveryListAtTheGasSaysNitrogen(t *testing.T) {
	for _, pump := range []string{triplexRunning, triplexIsolated, "pump: {action: duplex-double-acting, state: stopped}\n"} {
		for _, found := range []string{"findings: {line-pulses: present, skid-moves: absent}", "findings: {suction-hose-kicks: every-stroke}"} {
			r := answerTo(t, pump+found)
			at := max(position(r, work.StepCheck, "dampener-gas-check"), position(r, work.StepCheck, "stabiliser-look"))
			require.NotZero(t, at, pump+found)
			for _, guard := range []string{"remember-dampener", "nitrogen-only"} {
				before := position(r, work.StepSafety, guard)
				require.NotZero(t, before, guard)
				assert.Less(t, before, at, guard)
			}
		}
	}
}
