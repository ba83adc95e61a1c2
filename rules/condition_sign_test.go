package rules

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
)

// A condition that needs a sign, or work done, is not run where there is neither;
// what asks for absence or for a figure is.
func TestWhichConditionsNeedSomething(t *testing.T) {
	for text, want := range map[string]bool{
		`present("knock")`:                                                                   true,
		`present("wiper-leaks", "again")`:                                                    true,
		`present("knock") || present("wiper-leaks")`:                                         true,
		`present("knock") && (recent("valves-changed") || speed > spm(90))`:                  true,
		`everywhere("wiper-leaks") and present("knock")`:                                     true,
		`present("knock") || recent("valves-changed")`:                                       true,
		`not present("knock")`:                                                               false,
		`present("knock") && !present("wiper-leaks")`:                                        false,
		`absent("knock")`:                                                                    false,
		`rotation_is("reverse")`:                                                             false,
		`discharge > psi(3000)`:                                                              false,
		`present("wiper-leaks") && present("knock") || confirmed("rod-crooked")`:             false,
		`(present("wiper-leaks") || present("knock")) && action_is("triplex-single-acting")`: true,
	} {
		book, err := load(strings.Replace(smallBook, `when: present("knock")`, "when: '"+text+"'", 1))
		require.NoError(t, err, text)
		assert.Equal(t, want, book.Stops.Get("smoke").When.Needs, text)
	}
}

// Run or not, it comes to the same.
func TestWhatIsNotRunDoesNotHold(t *testing.T) {
	book, err := BuiltIn()
	require.NoError(t, err)
	for _, text := range []string{
		"pump: {action: triplex-single-acting, state: running}\n",
		"pump: {action: triplex-single-acting, state: running}\nfindings: {knock: every-cylinder, bearing-hot: absent, smoke: drive, wiper-leaks: {again: [2]}}\nrecent: [valves-changed]\n",
		"pump: {action: duplex-double-acting, state: stopped, rotation: reverse}\nfindings: {rod-broken: {left: present}, hiss: {left head: suction-stroke}, pressure-low: steady}\nconfirmed: [kick]\n",
	} {
		k, err := evidence.ParseCase("case.yaml", []byte(text), book.Vocabulary())
		require.NoError(t, err)
		tried := 0
		for _, cause := range book.Causes.List {
			for _, rule := range cause.HasteWhen {
				plain := *rule.When
				plain.Needs = false
				for _, at := range k.Pump.Places(cause.Level) {
					tried++
					assert.Equal(t, plain.HoldsAt(at, k, book), rule.When.HoldsAt(at, k, book), "%s: %s", cause.ID, plain.Source)
				}
			}
		}
		for _, cause := range book.Causes.List {
			for _, rule := range cause.Odds {
				plain := *rule.When
				plain.Needs = false
				assert.Equal(t, plain.Holds(k, book), rule.When.Holds(k, book), "%s: %s", cause.ID, plain.Source)
			}
		}
		for _, stop := range book.Stops.List {
			plain := *stop.When
			plain.Needs = false
			assert.Equal(t, plain.Holds(k, book), stop.When.Holds(k, book), stop.ID)
		}
		assert.Greater(t, tried, 50)
	}
}
