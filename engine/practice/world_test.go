package practice

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"regexp"
	"strconv"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine/chances"
	"telltale/evidence"
	"telltale/rules"
)

// hide hides causes by themselves, and nothing else.
func (w *World) hide(list ...evidence.At) {
	w.Hidden, w.sources = nil, nil
	for _, at := range list {
		w.put(at, -1, nil)
	}
}

func builtIn(t testing.TB) *rules.Book {
	t.Helper()
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	return book
}

// smallBook is a book whose worlds do not change with the built-in book.
func smallBook(t testing.TB) *rules.Book {
	t.Helper()
	book, err := rules.Load(os.DirFS("../../testdata/smallbook"), "smallbook")
	require.NoError(t, err)
	return book
}

// more is how many exercises are drawn where n are by default; TELLTALE_EXERCISES=4
// draws four times as many.
func more(n uint64) uint64 {
	if times, err := strconv.ParseUint(os.Getenv("TELLTALE_EXERCISES"), 10, 16); err == nil {
		n *= times
	}
	return n
}

var actions = []evidence.Action{evidence.Triplex, evidence.Duplex}

// fits adds up Pearson's chi-square over many small tables (Pearson 1900, from
// memory) and compares it with its quantile by Wilson and Hilferty's cube
// (1931, from memory), which is within a per cent from 30 degrees on.
type fits struct {
	sum  float64
	free int
}

// table adds one table; cells that expect fewer than five go together.
func (f *fits) table(seen, expected []float64) {
	restSeen, restExpected, cells := 0.0, 0.0, 0
	for i, e := range expected {
		if e < 5 {
			restSeen, restExpected = restSeen+seen[i], restExpected+e
			continue
		}
		f.sum += (seen[i] - e) * (seen[i] - e) / e
		cells++
	}
	if restExpected >= 5 {
		f.sum += (restSeen - restExpected) * (restSeen - restExpected) / restExpected
		cells++
	}
	if cells > 1 {
		f.free += cells - 1
	}
}

// z0001 is the standard normal quantile that one in a thousand exceeds.
const z0001 = 3.0902

func (f *fits) check(t *testing.T, what string) {
	t.Helper()
	require.Greater(t, f.free, 30, what)
	d := float64(f.free)
	high := d * math.Pow(1-2/(9*d)+z0001*math.Sqrt(2/(9*d)), 3)
	low := d * math.Pow(1-2/(9*d)-z0001*math.Sqrt(2/(9*d)), 3)
	t.Logf("%s: chi-square %.1f, %d degrees, one in a thousand from %.1f", what, f.sum, f.free, high)
	assert.Less(t, f.sum, high, what)
	assert.Greater(t, f.sum, low, "%s: too good to be chance", what)
}

// Each cause alone, drawn 100 times: how often each sign shows, and in which
// kind, against its link with the background. A place where cause and
// background show different kinds has no kind.
func TestSignsComeAsOftenAsTheBookSays(t *testing.T) {
	t.Parallel()
	book := builtIn(t)
	const draws = 100
	for n, action := range actions {
		random := rand.New(rand.NewPCG(42, uint64(n)))
		var signs, checks fits
		w := faultless(book, Setup{Level: AnyFault, Action: action})
		for _, in := range chances.New(book, w.bare()).Causes {
			if in.Place != w.Pump.Places(in.Cause.Level)[0] {
				continue
			}
			w.hide(evidence.At{ID: in.Cause.ID, Place: in.Place})
			tallySigns(book, w, in, random, draws, &signs, &checks)
		}
		signs.check(t, string(action)+" signs")
		checks.check(t, string(action)+" checks")
	}
}

func tallySigns(book *rules.Book, w *World, in chances.Instance, random *rand.Rand, draws int, signs, checks *fits) {
	links := in.Cause.LinksFor(w.bare(), book)
	w.shown = nil // what the cause does not show is not counted
	for _, link := range links {
		if s := book.Signs.Get(link.Sign); s.When.HoldsForPump(&w.Pump) {
			w.shown = append(w.shown, s)
		}
	}
	seen := make([][]float64, len(links))
	for i, link := range links {
		seen[i] = make([]float64, len(book.Signs.Get(link.Sign).Kinds)+3) // none, kinds, mixed, plain
	}
	exposed := map[evidence.At]float64{}
	for range draws {
		w.drawSigns(random)
		w.drawChecks(random)
		for i, link := range links {
			seen[i][cell(book.Signs.Get(link.Sign), w.Sign(link.Sign, near1(w, in, book.Signs.Get(link.Sign).Level)))]++
		}
		for at := range w.expose {
			exposed[at]++
		}
	}
	for i, link := range links {
		s := book.Signs.Get(link.Sign)
		if s.When.HoldsForPump(&w.Pump) {
			signs.table(seen[i], expect(s, link, float64(draws)))
		}
	}
	for _, c := range book.Checks.List {
		for _, f := range c.Finds {
			if f.Cause == in.Cause.ID {
				hit := exposed[evidence.At{ID: c.ID, Place: near1(w, in, c.Level)}]
				checks.table([]float64{hit, float64(draws) - hit}, []float64{float64(draws) * f.Sure, float64(draws) * (1 - f.Sure)})
			}
		}
	}
}

// near1 is the first place of a level that a cause touches.
func near1(w *World, in chances.Instance, level evidence.Level) evidence.Place {
	return w.Pump.Under(in.Place, level)[0]
}

// cell is where a sign counts: 0 absent, then the kinds, then of more than one
// kind, then present without kinds.
func cell(s *rules.Sign, sign Sign) int {
	switch {
	case !sign.Present:
		return 0
	case len(s.Kinds) == 0:
		return len(s.Kinds) + 2
	}
	for i, k := range s.Kinds {
		if k.ID == sign.Kind {
			return i + 1
		}
	}
	return len(s.Kinds) + 1
}

// expect works the counts out from the book: link and background are two
// sources, each showing by itself.
func expect(s *rules.Sign, link rules.Link, draws float64) []float64 {
	out := make([]float64, len(s.Kinds)+3)
	none := (1 - s.Background) * (1 - link.Total)
	out[0] = draws * none
	if len(s.Kinds) == 0 {
		out[2] = draws * (1 - none)
		return out
	}
	mixed := 1 - none
	for i, p := range link.Kinds {
		back := s.Background / float64(len(s.Kinds))
		only := p*(1-s.Background) + back*(1-link.Total) + p*back
		out[i+1] = draws * only
		mixed -= only
	}
	out[len(s.Kinds)+1] = draws * math.Max(0, mixed)
	return out
}

// The causes by themselves against their chances: one, at each of its places, goes
// with the odds of its share; of two, the one drawn first goes with its odds times
// those of all others. All of it given that they brought something on, or did not.
func TestCausesComeAsOftenAsTheBookSays(t *testing.T) {
	t.Parallel()
	for n, action := range actions {
		for _, level := range []int{AnyFault, TwoFaults} {
			for share := range 2 {
				book := withShare(builtIn(t), float64(share))
				w := faultless(book, Setup{Level: level, Action: action})
				among, err := w.among()
				require.NoError(t, err)
				odds, sum := map[evidence.At]float64{}, 0.0
				for _, in := range among {
					places := float64(len(w.Pump.Places(in.Cause.Level)))
					p := 1 - math.Pow(1-in.Cause.Common*ordinary(in.Cause, w, book), 1/places)
					at := evidence.At{ID: in.Cause.ID, Place: in.Place}
					odds[at] = p / (1 - p) * given(w, at, share == 1)
					sum += odds[at]
				}
				if sum == 0 {
					continue // this book brings nothing on
				}
				const draws = 3000
				random := rand.New(rand.NewPCG(7, uint64(10*n+level)))
				counts := map[evidence.At]float64{}
				for range draws {
					w.hide()
					w.drawCauses(random, among)
					troubles := w.Troubles()
					require.Len(t, troubles, map[int]int{AnyFault: 1, TwoFaults: 2}[level])
					assert.Equal(t, share == 1, len(troubles[0].Failed) > 0)
					counts[troubles[0].Root]++
				}
				var seen, expected []float64
				whole := 0.0
				weight := func(o float64) float64 {
					if level == TwoFaults {
						return o * (sum - o)
					}
					return o
				}
				for _, o := range odds {
					whole += weight(o)
				}
				for _, in := range among {
					at := evidence.At{ID: in.Cause.ID, Place: in.Place}
					seen, expected = append(seen, counts[at]), append(expected, draws*weight(odds[at])/whole)
				}
				var f fits
				f.table(seen, expected)
				f.check(t, fmt.Sprintf("%s causes, level %d, %d brought something on", action, level, share))
			}
		}
	}
}

// withShare is a book in which so many troubles were brought on by a root.
func withShare(b *rules.Book, share float64) *rules.Book {
	out, p := *b, *b.Practice
	p.WithRoot = [3]float64{share, share, share}
	out.Practice = &p
	return &out
}

// given is the chance that a cause brings something on, or nothing: each bring
// comes by itself at each place of the other cause that it touches.
func given(w *World, at evidence.At, something bool) float64 {
	none := 1.0
	for _, b := range w.book.Causes.Get(at.ID).BringsFor(w.bare(), w.book) {
		for _, p := range w.Pump.Places(w.book.Causes.Get(b.Cause).Level) {
			if p.Touches(at.Place) {
				none *= 1 - b.Often
			}
		}
	}
	if something {
		return 1 - none
	}
	return none
}

// ordinary is the factor by which odds rules that hold for a bare pump move a
// chance; the built-in book has none.
func ordinary(c *rules.Cause, w *World, b *rules.Book) float64 {
	for _, rule := range c.Odds {
		if rule.When.Holds(w.bare(), b) {
			return math.NaN()
		}
	}
	return 1
}

func TestTheSameSeedGivesTheSamePump(t *testing.T) {
	book := builtIn(t)
	different := 0
	for seed := uint64(0); seed < 30; seed++ {
		for level := CommonFault; level <= TwoFaults; level++ {
			one, err := Draw(book, Setup{Seed: seed, Level: level})
			require.NoError(t, err)
			two, err := Draw(book, Setup{Seed: seed, Level: level})
			require.NoError(t, err)
			assert.Equal(t, one, two)
			other, err := Draw(book, Setup{Seed: seed + 1000, Level: level})
			require.NoError(t, err)
			if !assert.ObjectsAreEqual(one.Hidden, other.Hidden) {
				different++
			}
		}
	}
	assert.Greater(t, different, 70)
}

func TestEachLevelKeepsItsWord(t *testing.T) {
	book := builtIn(t)
	for _, action := range actions {
		for seed := uint64(0); seed < 100; seed++ {
			for level := CommonFault; level <= TwoFaults; level++ {
				w, err := Draw(book, Setup{Seed: seed, Level: level, Action: action})
				require.NoError(t, err)
				assert.Equal(t, action, w.Action)
				signs := map[string]bool{}
				for _, f := range w.Told {
					signs[f.Sign] = true
					s := book.Signs.Get(f.Sign)
					assert.True(t, outside(s), "%s is not seen from outside", s.ID)
					for _, p := range f.Over {
						assert.True(t, f.Answer == evidence.Absent || len(f.Over) > 1 || w.Sign(f.Sign, p).Present)
					}
				}
				assert.LessOrEqual(t, len(signs), book.Practice.Told[level-1])
				switch level {
				case CommonFault:
					require.Len(t, w.Troubles(), 1)
					assert.GreaterOrEqual(t, book.Causes.Get(w.Troubles()[0].Root.ID).Common, book.Scale.HowCommon["common"])
					assert.GreaterOrEqual(t, len(signs), book.Practice.ClearSigns)
				case TwoFaults:
					require.Len(t, w.Troubles(), 2)
					assert.NotEqual(t, w.Troubles()[0].Root, w.Troubles()[1].Root)
					for _, f := range w.Told {
						assert.Empty(t, f.Kind)
						assert.Equal(t, w.Pump.Places(book.Signs.Get(f.Sign).Level), f.Over)
					}
				}
			}
		}
	}
}

func TestMistakesOfTheSetup(t *testing.T) {
	book := builtIn(t)
	_, err := Draw(book, Setup{Level: 4})
	require.Error(t, err)
	bare := *book
	bare.Practice = nil
	_, err = Draw(&bare, Setup{Level: 1})
	require.ErrorIs(t, err, ErrNoPractice)
}

// The readings of a rod agree with its sign, and half of upper less lower is
// what the tool gives: the rule of the trade (common practice, no source).
func TestReadingsOfARodAgreeWithItsSign(t *testing.T) {
	book := builtIn(t)
	low, high := 0, 0
	for seed := uint64(0); seed < 400; seed++ {
		random := rand.New(rand.NewPCG(seed, 1))
		w := faultless(book, Setup{Level: AnyFault, Action: actions[seed%2]})
		w.hide(evidence.At{ID: []string{"guide-and-crosshead-worn", "crosshead-set-high"}[seed/2%2], Place: w.Pump.Places(evidence.OfCylinder)[0]})
		w.drawSigns(random)
		for p, r := range w.drawRods(random) {
			for i := range r.Top {
				assert.Equal(t, r.Top[0]+r.Bottom[0], r.Top[i]+r.Bottom[i], "above plus below must come out the same")
				assert.Positive(t, min(r.Top[i], r.Bottom[i]))
			}
			sign := w.Sign("rod-off-centre", p)
			assert.Equal(t, sign.Present && sign.Kind == "low", r.Low)
			assert.Equal(t, sign.Present && sign.Kind == "high", r.High)
			if !r.Low && !r.High {
				continue
			}
			shim, _, ok, err := ShimFor(book, w.Pump, r)
			require.NoError(t, err)
			require.True(t, ok)
			assert.InDelta(t, float64(r.Top[0]-r.Bottom[0])/2, shim, 1e-6)
			assert.Greater(t, math.Abs(shim), 5.0, "past the book's figure to weigh by")
			if r.Low {
				low++
				assert.Positive(t, shim)
			} else {
				high++
				assert.Negative(t, shim)
			}
		}
	}
	assert.Greater(t, low, 50)
	assert.Greater(t, high, 50)
}

// Two faults at once: with odds of 4, 1 and 1/4 the three pairs go as 4 to 1 to
// 1/4, worked out by hand.
func TestPairsGoWithTheProductOfTheirOdds(t *testing.T) {
	text, err := os.ReadFile("../../testdata/smallbook/small.yaml")
	require.NoError(t, err)
	for _, common := range []string{"0.8", "0.5", "0.2"} {
		text = regexp.MustCompile(`of: \w+\n    how-common: (common|rare)`).ReplaceAllFunc(text, func(found []byte) []byte {
			if common == "" {
				return found
			}
			out := "of: pump\n    how-common: " + common
			common = ""
			return []byte(out)
		})
	}
	book, err := rules.Load(fstest.MapFS{"small.yaml": {Data: text}}, "small")
	require.NoError(t, err)
	w := faultless(book, Setup{Level: TwoFaults, Action: evidence.Triplex})
	random := rand.New(rand.NewPCG(11, 1))
	const draws = 6000
	counts := map[string]float64{}
	among, err := w.among()
	require.NoError(t, err)
	for range draws {
		w.hide()
		w.drawCauses(random, among)
		one, two := w.Hidden[0].ID, w.Hidden[1].ID
		counts[min(one, two)+max(one, two)]++
	}
	sum := 0.0
	for pair, weight := range map[string]float64{"clamp-looseguide-worn": 4, "clamp-looseturns-in-reverse": 1, "guide-wornturns-in-reverse": 0.25} {
		e := draws * weight / 5.25
		sum += (counts[pair] - e) * (counts[pair] - e) / e
	}
	assert.Less(t, sum, 13.8, "chi-square with two degrees, one in a thousand (table, from memory)")
}
