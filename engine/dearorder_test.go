package engine

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine/chances"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

// dearBook is a local book of which all checks are worth a step: for each of its causes a
// sign of its own and a check that finds it, and others less surely.
type dearBook struct {
	causes int
	finds  int    // by each check
	of     string // what a check looks at
	pump   string // how the pump must stand for every third check; for the others isolated
	each   bool   // every check, not every third
	opens  int    // openings that stand before a check behind the isolation
	after  bool   // each check comes after the one before it
}

func (d dearBook) load(t *testing.T) *rules.Book {
	t.Helper()
	files := fstest.MapFS{"book.yaml": {Data: []byte("rulebook: {name: dear, version: '1'}\n")}}
	sections := map[string]*strings.Builder{"causes": {}, "signs": {}, "checks": {}, "openings": {}}
	for i := range 20 {
		fmt.Fprintf(sections["openings"], "  lid-%d: {title: L, of: %s, minutes: 3, do: x, close: {title: C, minutes: 1, do: x}, basis: judgement}\n", i, d.of)
	}
	list := func(key string, n int, id func(k int) string) string {
		if n <= 0 {
			return ""
		}
		out := make([]string, n)
		for k := range out {
			out[k] = id(k)
		}
		return key + ": [" + strings.Join(out, ", ") + "], "
	}
	for i := range d.causes {
		fmt.Fprintf(sections["causes"], "  ours-%d: {title: T, group: drive, role: root, of: %s, how-common: 0.9, shows: {shown-%d: 0.9}, why: x, repair: x, look-again: x, haste: {wait: watch, because: x, basis: judgement}, basis: judgement}\n", i, d.of, i)
		fmt.Fprintf(sections["signs"], "  shown-%d: {title: S, ask: a, tell: t, of: %s, pump: any, background: 0.4, basis: judgement}\n", i, d.of)
		pump, more := "isolated", ""
		if d.each || i%3 == 0 {
			pump = d.pump
		}
		if pump == "isolated" {
			more = list("openings", d.opens, func(k int) string { return fmt.Sprintf("lid-%d", (i+k)%20) })
		}
		if d.after && i > 0 {
			more += list("after", 1, func(int) string { return fmt.Sprintf("look-%d", i-1) })
		}
		finds := make([]string, d.finds)
		for k := range finds {
			finds[k] = fmt.Sprintf("ours-%d: %g", (i+k)%d.causes, 0.9/float64(1+k))
		}
		fmt.Fprintf(sections["checks"], "  look-%d: {title: L, of: %s, pump: %s, %sminutes: %d, do: x, finds: {%s}, results: [], basis: judgement}\n", i, d.of, pump, more, 1+i%7, strings.Join(finds, ", "))
	}
	for section, text := range sections {
		files[section+".yaml"] = &fstest.MapFile{Data: []byte(section + ":\n" + text.String())}
	}
	book, err := rules.LoadOver(files, "dear")
	require.NoError(t, err)
	return book
}

// changed is the book with one thing drawn anew.
func (d dearBook) changed(random *rand.Rand) dearBook {
	switch random.IntN(7) {
	case 0:
		d.causes = 2 + random.IntN(139) // with those of the built-in book as many signs as are read
	case 1:
		d.of = []string{"pump", "cylinder", "chamber"}[random.IntN(3)]
	case 2:
		d.pump = []string{"running", "stopped", "not-isolated", "any", "isolated"}[random.IntN(5)]
	case 3:
		d.each = !d.each
	case 4:
		d.opens = random.IntN(20)
	case 5:
		d.after = !d.after
	default:
		d.finds = 1 + random.IntN(100)
	}
	d.finds = min(d.finds, d.causes)
	return d
}

// seen is a case that has every sign of the local book at each of its places.
func (d dearBook) seen(book *rules.Book) *evidence.Case {
	k := rules.BareCase(evidence.Duplex)
	k.Pump.State = evidence.Running
	for i := range d.causes {
		s := book.Signs.Get(fmt.Sprintf("shown-%d", i))
		for _, at := range k.Pump.Places(s.Level) {
			k.Findings = append(k.Findings, evidence.Finding{Sign: s.ID, Answer: evidence.Present, At: at, Over: []evidence.Place{at}})
		}
	}
	return k
}

// ordering is what the list of a case takes, by the budget.
func (d dearBook) ordering(t *testing.T) (moves int, err error) {
	t.Helper()
	book := d.load(t)
	budget := chances.NewBudget()
	w, err := chances.New(book, d.seen(book)).Within(budget).Solve()
	require.NoError(t, err)
	before := budget.Done()
	_, err = work.Plan(w)
	return budget.Done() - before, err
}

// Whatever checks a local book adds: their order is found within what an answer may take,
// or the case is refused with its stop conditions and nothing else. The climb goes from
// book to book towards what is dearest to put in order.
func TestTheDearestOrderIsFoundOrRefused(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 7))
	d, most := dearBook{causes: 20, finds: 1, of: "cylinder", pump: "any"}, 0
	var refused *dearBook
	for range 60 {
		trial := d.changed(random)
		moves, err := trial.ordering(t)
		if err != nil {
			require.True(t, chances.TooWide(err), "%v", err)
			refused = &trial
			break
		}
		require.LessOrEqual(t, moves, chances.MostWork)
		if moves > most {
			d, most = trial, moves
		}
	}
	assert.Greater(t, most, chances.MostWork/20, "it did not climb: %+v", d)
	require.NotNil(t, refused, "it found no book that is refused: %+v takes %d", d, most)
	book := refused.load(t)
	k := refused.seen(book)
	r, err := Diagnose(book, k)
	require.True(t, chances.TooWide(err), "%+v: %v", refused, err)
	held, unfit := Stands(book, k)
	require.NoError(t, unfit)
	assert.Equal(t, held, r)
	_, err = Outline(book, k)
	require.True(t, chances.TooWide(err))
}
