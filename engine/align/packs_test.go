package align_test

import (
	"fmt"
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"telltale/engine/align"
	"telltale/engine/measure"
)

// Worked by hand.
func TestPacks(t *testing.T) {
	for _, c := range []struct {
		thickness float64
		want      []float64 // inches
	}{
		{.012, []float64{.010, .002}}, {.0107, []float64{.010, .001}}, {.0104, []float64{.010}},
		{.0004, nil}, {.029, []float64{.025, .004}}, {.008, []float64{.005, .003}}, {.089, []float64{.050, .025, .010, .004}},
	} {
		t.Run(fmt.Sprint(c.thickness), func(t *testing.T) {
			packs, err := align.Packs(shimStock(), []align.Want{{Thickness: c.thickness * inch}}, 4)
			require.NoError(t, err)
			want := []string{}
			for _, x := range c.want {
				want = append(want, fmt.Sprintf("%g", x*1000))
			}
			assert.Equal(t, want, packs[0].Pieces)
		})
	}
}

// 6 is 4+1+1 or 3+3: the fewer pieces win, though the first has the thicker piece.
func TestFewerPiecesWin(t *testing.T) {
	stock := []align.Shim{{Name: "4", Nominal: 4e-3}, {Name: "3", Nominal: 3e-3}, {Name: "1", Nominal: 1e-3}}
	packs, err := align.Packs(stock, []align.Want{{Thickness: 6e-3}}, 4)
	require.NoError(t, err)
	assert.Equal(t, []string{"3", "3"}, packs[0].Pieces)
}

// Thick shims can be off by thousandths, so the measured thickness counts, with its doubt.
func TestActualThicknessCounts(t *testing.T) {
	stock := []align.Shim{
		{Name: "50", Nominal: .050 * inch, Actual: &measure.Value{Mean: .047 * inch, U: .0002 * inch}},
		{Name: "3", Nominal: .003 * inch, Actual: &measure.Value{Mean: .003 * inch, U: .0001 * inch}},
	}
	packs, err := align.Packs(stock, []align.Want{{Thickness: .053 * inch, Ends: 2}}, 4)
	require.NoError(t, err)
	assert.Equal(t, []string{"50", "3", "3"}, packs[0].Pieces)
	assert.InDelta(t, .0002*math.Sqrt2, packs[0].Thickness.U/inch, 1e-12, "two alike are wrong alike")
}

func TestTwoEndsShareACount(t *testing.T) {
	stock := []align.Shim{{Name: "10", Nominal: 10e-3, Count: 1}, {Name: "6", Nominal: 6e-3, Count: 1}, {Name: "5", Nominal: 5e-3}}
	packs, err := align.Packs(stock, []align.Want{{Thickness: 10e-3}, {Thickness: 10e-3}}, 2)
	require.NoError(t, err)
	assert.Equal(t, []string{"10"}, packs[0].Pieces)
	assert.Equal(t, []string{"5", "5"}, packs[1].Pieces)
	packs, err = align.Packs(stock, []align.Want{{Thickness: 10e-3, Ends: 2}}, 2)
	require.NoError(t, err)
	assert.Equal(t, []string{"5", "5"}, packs[0].Pieces, "alike at both ends: the one 10 mm does not do")
}

func TestPacksRefuseNonsense(t *testing.T) {
	stock := shimStock()
	for _, w := range []align.Want{{Thickness: -1}, {Thickness: math.NaN()}, {Thickness: math.Inf(1)}, {Thickness: .01, Ends: 9}, {Thickness: .01, Ends: -1}} {
		_, err := align.Packs(stock, []align.Want{w}, 4)
		assert.Error(t, err)
	}
	_, err := align.Packs(stock, make([]align.Want, 9), 4)
	assert.Error(t, err)
	_, err = align.Packs(stock, nil, 0)
	assert.Error(t, err)
	_, err = align.Packs(make([]align.Shim, 99), nil, 4)
	assert.Error(t, err)
	packs, err := align.Packs(nil, []align.Want{{Thickness: .01}}, 4)
	require.NoError(t, err)
	assert.Empty(t, packs[0].Pieces, "an empty stock gives an empty pack")
}

// Oracle: every choice of counts for every want, in whole micrometres.
func TestPacksAgainstEveryChoice(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var stock []align.Shim
		var microns []int
		for range rapid.IntRange(1, 4).Draw(t, "stock") {
			m := rapid.IntRange(1, 30).Draw(t, "thickness")
			microns = append(microns, m)
			stock = append(stock, align.Shim{Name: strconv.Itoa(len(stock)), Nominal: float64(m) / 1e6, Count: rapid.IntRange(0, 3).Draw(t, "count")})
		}
		var wants []align.Want
		for range rapid.IntRange(1, 2).Draw(t, "wants") {
			wants = append(wants, align.Want{
				Thickness: float64(rapid.IntRange(0, 60).Draw(t, "want")) / 1e6,
				Ends:      rapid.IntRange(1, 2).Draw(t, "ends"),
			})
		}
		most := rapid.IntRange(1, 3).Draw(t, "most")
		packs, err := align.Packs(stock, wants, most)
		if err != nil {
			t.Fatal(err)
		}
		used := make([]int, len(stock))
		got := [3]int{}
		for i, p := range packs {
			total := 0
			for _, name := range p.Pieces {
				piece, _ := strconv.Atoi(name)
				total += microns[piece]
				used[piece] += wants[i].Ends
			}
			got = addScore(got, total, wants[i], len(p.Pieces))
			if len(p.Pieces) > most || math.Abs(p.Thickness.Mean*1e6-float64(total)) > 1e-6 {
				t.Fatalf("pack %v", p)
			}
		}
		for i, n := range used {
			if stock[i].Count > 0 && n > stock[i].Count {
				t.Fatalf("%d pieces of shim %d used", n, i)
			}
		}
		best := [3]int{math.MaxInt, 0, 0}
		everyChoice(stock, microns, wants, most, make([]int, len(stock)), [3]int{}, &best)
		if got != best {
			t.Fatalf("score %v, best %v", got, best)
		}
	})
}

// addScore keeps worst error, sum of errors, pieces.
func addScore(s [3]int, total int, w align.Want, pieces int) [3]int {
	off := total - int(math.Round(w.Thickness*1e6))
	if off < 0 {
		off = -off
	}
	return [3]int{max(s[0], off), s[1] + off, s[2] + pieces*w.Ends}
}

func everyChoice(stock []align.Shim, microns []int, wants []align.Want, most int, used []int, so [3]int, best *[3]int) {
	if len(wants) == 0 {
		if fmt.Sprintf("%09d", so) < fmt.Sprintf("%09d", *best) || best[0] == math.MaxInt {
			*best = so
		}
		return
	}
	w := wants[0]
	var fill func(i, pieces, total int)
	fill = func(i, pieces, total int) {
		if i == len(stock) {
			everyChoice(stock, microns, wants[1:], most, used, addScore(so, total, w, pieces), best)
			return
		}
		for n := 0; pieces+n <= most && (stock[i].Count == 0 || used[i]+n*w.Ends <= stock[i].Count); n++ {
			used[i] += n * w.Ends
			fill(i+1, pieces+n, total+n*microns[i])
			used[i] -= n * w.Ends
		}
	}
	fill(0, 0, 0)
}

func BenchmarkPacks(b *testing.B) {
	for name, c := range map[string]struct{ shims, count int }{"15": {15, 0}, "15 scarce": {15, 1}, "24 scarce": {24, 1}} {
		var stock []align.Shim
		for i := range c.shims {
			stock = append(stock, align.Shim{Nominal: float64(i+1) * 25.4e-6, Count: c.count})
		}
		for _, wanted := range []float64{.0003, .01} { // easy, out of reach
			b.Run(fmt.Sprintf("%s, %g m", name, wanted), func(b *testing.B) {
				for b.Loop() {
					wants := []align.Want{{Thickness: wanted}, {Thickness: wanted * 1.003}}
					if _, err := align.Packs(stock, wants, 4); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}
