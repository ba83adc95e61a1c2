package words

import (
	"fmt"
	"regexp"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The bands of US Intelligence Community Directive 203, Analytic Standards (2015),
// section D.6.e(2)(a): almost no chance 01-05 %, very unlikely 05-20, unlikely
// 20-45, roughly even chance 45-55, likely 55-80, very likely 80-95, almost
// certain 95-99. From memory. Where two bands meet either word is right.
var icd203 = []struct {
	word      string
	low, high int
}{
	{"almost no chance", 0, 5}, {"very unlikely", 5, 20}, {"unlikely", 20, 45}, {"roughly even", 45, 55}, {"likely", 55, 80}, {"very likely", 80, 95}, {"almost certain", 95, 100},
}

func TestBandsOfChanceAreThoseOfICD203(t *testing.T) {
	number := regexp.MustCompile(`^(.+), (?:(under|over) )?(\d+) %$`)
	last := -1
	for i := 0; i <= 1000; i++ {
		p := float64(i) / 1000
		m := number.FindStringSubmatch(Likely(p))
		require.NotNil(t, m, Likely(p))
		shown, err := strconv.Atoi(m[3])
		require.NoError(t, err)
		assert.Zero(t, shown%5, p)
		at := -1
		for n, band := range icd203 {
			if band.word == m[1] {
				at = n
			}
		}
		require.GreaterOrEqual(t, at, last, "%v: the words go up with the chance", p)
		last = at
		assert.True(t, icd203[at].low <= shown && shown <= icd203[at].high, Likely(p))
		assert.Equal(t, at >= 4, MoreLikelyThanNot(p), p)
		assert.Equal(t, p < 0.05, m[2] == "under", p)
		assert.Equal(t, p > 0.95, m[2] == "over", p)
		if m[2] == "" {
			assert.InDelta(t, 100*p, shown, 2.5+1e-9, p)
		}
	}
	assert.Equal(t, len(icd203)-1, last)
}

// One number has one word, and what is as likely as something else is unlikely
// has the mirrored word.
func TestANumberHasOneWord(t *testing.T) {
	mirrored := map[string]string{"almost no chance": "almost certain", "very unlikely": "very likely", "unlikely": "likely", "roughly even": "roughly even"}
	for low, high := range mirrored {
		mirrored[high] = low
	}
	said := map[string]string{}
	for i := 0; i <= 200; i++ {
		p := float64(i) / 200
		if word, known := said[Percent(p)]; known {
			assert.Equal(t, word, Likelihood(p), Percent(p))
		}
		said[Percent(p)] = Likelihood(p)
	}
	for i := 5; i <= 95; i += 5 {
		assert.Equal(t, mirrored[said[fmt.Sprintf("%d %%", i)]], said[fmt.Sprintf("%d %%", 100-i)], i)
	}
}

// Nothing that was seen proves a cause: only a look does, and that is no chance.
func TestAChanceIsNeverWordedAsProof(t *testing.T) {
	assert.Equal(t, []string{"almost no chance, under 5 %", "almost certain, over 95 %"}, []string{Likely(0), Likely(1)})
	assert.Equal(t, []string{"very unlikely, 5 %", "unlikely, 30 %", "very likely, 95 %"}, []string{Likely(0.05), Likely(0.28), Likely(0.95)})
}
