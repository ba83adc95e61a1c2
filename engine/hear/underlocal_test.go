package hear

import (
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/rules"
)

const localHeader = "rulebook: {name: Larkspur, version: 1}\n"

func overBuiltIn(t *testing.T, text string) *rules.Book {
	t.Helper()
	book, err := rules.LoadOver(fstest.MapFS{"local.yaml": {Data: []byte(localHeader + text)}}, "local")
	require.NoError(t, err)
	return book
}

// Whatever a local book adds, the sign of a stop is heard as surely as without it: by a
// phrase that is the same or nearly so, that denies, that makes the words common, and by
// words that are made the same as others or opposite to them.
func TestALocalBookTakesNoDanger(t *testing.T) {
	stories := []string{
		"the H2S alarm just went", "gas alarm", "motorman is hurt bad", "my hand is caught in the rods", "the mud hose burst", "power end is smoking hot",
		"trip tank is gaining", "pump turned over under lock", "oil in the dampener, they charged it with oxygen", "no knock, but valve cover on 2 leaks and the gas alarm went off",
	}
	alone := listener(t)
	for name, text := range map[string]string{
		"the same phrases of another sign": `said-of-signs: {mud-airy: {present: [gas alarm, h2s alarm, h2s alarm went off, hand caught in the rods, guy is hurt, mud hose burst, trip tank gaining, turned over under lock], basis: judgement}}`,
		"phrases that are nearly the same": `said-of-signs: {pressure-low: {present: [the H2S alarm just went, gas alarm went off, motorman is hurt bad, my hand is caught in the rods, the mud hose burst, trip tank is gaining, power end is smoking hot], basis: judgement}}`,
		"another sign of a stop":           `said-of-signs: {pit-gain: {present: [gas alarm, hand caught in the rods, guy is hurt, smoking hot, turned over under lock, charged with oxygen], basis: judgement}}`,
		"phrases of a check":               `said-of-checks: {well-check: {said: [the H2S alarm just went, gas alarm, hand is caught in the rods, mud hose burst, trip tank is gaining], basis: judgement}}`,
		"phrases that deny":                `said-of-signs: {gas-at-pump: {absent: [the H2S alarm just went, gas alarm], basis: judgement}, person-in-danger: {absent: [motorman is hurt bad, hand is caught in the rods], basis: judgement}, pit-gain: {absent: [trip tank is gaining], basis: judgement}}`,
		"a danger's words made a part":     `same-words: {bell: {as: thing, words: [h2s, h2s alarm, gas alarm, hurt bad, caught, hand is caught, burst, smoking, under lock, gaining], basis: judgement}}`,
		"a danger's words made work":       `same-words: {seen-to: {as: done, words: [h2s alarm, gas alarm, hurt, hand is caught, hose burst, smoking hot, turned over, charged it with oxygen], basis: judgement}}`,
		"opposites": `same-words: {calm-day: {words: [calm day], against: [hurt, caught, sour-gas, gas-alarm, oxygen], basis: judgement}, well-gone: {words: [just went, bad, in the rods, hot], against: [sour-gas, hurt, caught], basis: judgement}}
said-of-signs: {mud-airy: {present: [calm day just went], basis: judgement}}`,
	} {
		whole := New(overBuiltIn(t, text))
		for _, story := range stories {
			got := whole.Hear(story, layout(triplex)).Heard
			for _, h := range alone.Hear(story, layout(triplex)).Heard {
				if !alone.ofStop(h.Is, h.ID, h.Answer) {
					continue
				}
				said := false
				for _, o := range got {
					said = said || o.asSure(&h)
					assert.False(t, o.ID == h.ID && o.Answer != h.Answer && o.beside(&h), "%s: %s: the opposite beside it: %+v", name, story, o)
				}
				assert.True(t, said, "%s: %s: %s %s, got %+v", name, story, h.ID, h.Strength, got)
			}
		}
	}
}

// What a local book teaches besides is heard: its own words of a danger, and what else
// its phrases say.
func TestALocalBookTeaches(t *testing.T) {
	l := New(overBuiltIn(t, `same-words: {sour-gas: {words: [skunk juice], basis: judgement}}
said-of-signs: {wiper-leaks: {present: [the leather weeps], basis: judgement}, mud-airy: {present: [gas alarm at the shakers], basis: judgement}}`))
	for story, want := range map[string]string{"skunk juice at the pump": "gas-at-pump", "the leather weeps": "wiper-leaks", "gas alarm at the shakers": "mud-airy"} {
		var ids []string
		for _, h := range l.Hear(story, layout(triplex)).Heard {
			ids = append(ids, h.ID)
		}
		assert.Contains(t, ids, want, story)
	}
}

// Whoever keeps a local book is told which of its words the built-in book takes for a
// danger.
func TestVetTellsOfDangerInLocalWords(t *testing.T) {
	var said []string
	for _, r := range Vet(overBuiltIn(t, `same-words: {bell: {as: thing, words: [gas alarm, shift bell], basis: judgement}}
said-of-signs: {mud-airy: {present: [h2s alarm went off, suds in the bucket], basis: judgement}, gas-at-pump: {present: [the nose of the pit wrinkles], basis: judgement}}`)) {
		if r.Kind == rules.SaidTwice && strings.Contains(r.Message, "on which a stop rests") {
			said = append(said, r.Pos.File+" "+strings.Join(r.Of, " ")+" "+r.Message[:strings.Index(r.Message, " is heard")])
		}
	}
	assert.ElementsMatch(t, []string{`local/local.yaml gas-at-pump mud-airy "h2s alarm went off"`, `local/local.yaml gas-at-pump bell "gas alarm" of bell`}, said)
	for _, r := range Vet(listener(t).book) {
		assert.NotContains(t, r.Message, "on which a stop rests")
	}
}
