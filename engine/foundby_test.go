package engine

import (
	"math"
	"math/bits"
	"testing"

	"pgregory.net/rapid"

	"telltale/engine/chances"
	"telltale/evidence"
)

// massWith is the mass of "exactly these causes are there, and those of
// hushed show none of the findings".
func massWith(m *chances.Model, there, hushed int) float64 {
	mass := 1.0
	for i, in := range m.Causes {
		if there>>i&1 == 0 {
			mass *= 1 - in.Prior
			continue
		}
		mass *= in.Prior
		if hushed>>i&1 == 0 {
			continue
		}
		for _, f := range m.Case.Findings {
			for _, place := range f.Over {
				for _, link := range in.Cause.LinksFor(m.Case, m.Book) {
					if link.Sign == f.Sign && in.Place.Touches(place) {
						mass *= 1 - link.Total
					}
				}
			}
		}
	}
	for _, f := range m.Case.Findings {
		mass *= chanceOf(m, f, there&^hushed)
	}
	return mass
}

// missedByEnumeration is P(no cause that is there and shows a finding was
// exposed | findings): over all sets of causes that show something and that
// are there in silence, "shows something" by inclusion and exclusion.
func missedByEnumeration(m *chances.Model, miss []float64) float64 {
	all := 1<<len(m.Causes) - 1
	missed, total := 0.0, 0.0
	for shows := range all + 1 {
		unseen := 1.0
		for i := range m.Causes {
			if shows>>i&1 == 1 {
				unseen *= miss[i]
			}
		}
		for silent := all &^ shows; ; silent = (silent - 1) & (all &^ shows) {
			mass := 0.0
			for not := shows; ; not = (not - 1) & shows {
				sign := 1 - 2*float64(bits.OnesCount(uint(not))&1)
				mass += sign * massWith(m, shows|silent, silent|not)
				if not == 0 {
					break
				}
			}
			total += mass
			missed += mass * unseen
			if silent == 0 {
				break
			}
		}
	}
	return missed / total
}

func TestFoundByAgreesWithEnumeration(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawBook.Draw(t, "book")
		book := d.load()
		k := drawCase(t, d, book)
		m := chances.New(book, k)
		present := false
		for _, f := range k.Findings {
			present = present || f.Answer == evidence.Present
		}
		if len(m.Causes) > 4 || !present {
			t.Skip("too many causes to enumerate, or nothing seen")
		}
		w, err := m.Weigh()
		if err != nil || w.Evidence < 1e-9 {
			t.Skip("impossible, or too unlikely for the oracle's own subtraction")
		}
		miss := make([]float64, len(m.Causes))
		for i := range miss {
			miss[i] = rapid.SampledFrom([]float64{0, 0.1, 0.5, 1}).Draw(t, "miss")
		}
		got, err := w.FoundBy(miss, 0)
		if err != nil {
			t.Fatal(err)
		}
		if want := 1 - missedByEnumeration(m, miss); math.Abs(got-want) > 1e-6 {
			t.Fatalf("found %.12g, the enumeration says %.12g", got, want)
		}
	})
}
