package align_test

import (
	"math"
	"reflect"
	"slices"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"telltale/engine/align"
	"telltale/engine/measure"
)

func anyInput(t *rapid.T) align.Input {
	maybe := func(name string) bool { return rapid.IntRange(0, 4).Draw(t, name) > 0 }
	number := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
	base := number("base", .002, .006)
	reading := func(name string) *measure.Value {
		if !maybe(name + "?") {
			return nil
		}
		step := rapid.SampledFrom([]float64{1e-6, 25.4e-6, 50e-6}).Draw(t, "step")
		v := measure.FromStep(math.Abs(base+number(name, -.0004, .0004)), step)
		return &v
	}
	in := align.Input{
		Parted: rapid.SampledFrom([]align.Answer{align.Yes, align.Yes, align.Yes, align.Unknown, align.No}).Draw(t, "parted"),
		Seated: rapid.SampledFrom([]align.Answer{align.Yes, align.Yes, align.Yes, align.Unknown, align.No}).Draw(t, "seated"),
		Stroke: rapid.SampledFrom([]float64{0, .3, .3, .25}).Draw(t, "stroke"),
	}
	for range rapid.IntRange(1, 3).Draw(t, "planes") {
		p := align.Plane{}
		if maybe("at?") {
			p.At = ptr(rapid.SampledFrom([]float64{.5, .7, .9, number("at", -2, 2)}).Draw(t, "at"))
		}
		for _, name := range stations {
			if maybe("reading?") {
				p.Positions = append(p.Positions, align.Position{Name: name, Top: reading("top"), Bottom: reading("bottom"), Left: reading("left"), Right: reading("right")})
			}
		}
		in.Planes = append(in.Planes, p)
	}
	if maybe("supports?") {
		in.Supports = &align.Supports{Front: number("front", .1, .4), Rear: -number("rear", .1, .4)}
	}
	if maybe("level?") {
		in.Level = &measure.Value{Mean: number("level", -.001, .001), U: 4e-5}
	}
	for range rapid.IntRange(0, 4).Draw(t, "spots") {
		s := align.Spot{Length: measure.Value{Mean: number("upper", 0, .002), U: rapid.SampledFrom([]float64{0, 7e-6}).Draw(t, "u")}}
		if maybe("along?") {
			s.Along = ptr(number("along", -.5, .5))
		}
		in.Upper = append(in.Upper, s)
	}
	if maybe("least?") {
		in.UpperLimits.Least = ptr(.000381)
	}
	if maybe("most?") {
		in.UpperLimits.Most = ptr(.000635)
	}
	for range rapid.IntRange(0, 5).Draw(t, "shims") {
		s := align.Shim{Name: strconv.Itoa(len(in.Stock)), Nominal: float64(rapid.IntRange(1, 50).Draw(t, "shim")) * 25.4e-6, Count: rapid.IntRange(0, 3).Draw(t, "count")}
		if !maybe("nominal?") {
			s.Actual = &measure.Value{Mean: s.Nominal, U: 1e-6}
		}
		in.Stock = append(in.Stock, s)
	}
	return in
}

func TestWhateverIsMeasured(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := anyInput(t)
		out, err := align.Centre(in)
		if err != nil {
			t.Fatal(err)
		}
		allFinite(t, reflect.ValueOf(out))
		again, _ := align.Centre(in)
		if !reflect.DeepEqual(out, again) {
			t.Fatal("not the same twice")
		}
		if (in.Parted != align.Yes || in.Seated != align.Yes) && out.Outcome != align.Withheld {
			t.Fatal("corrected a rod that is held")
		}
		raises := out.Outcome == align.EqualShims || out.Outcome == align.UnequalShims
		if len(out.Packs) > 0 && !raises && out.Outcome != align.TakeOut {
			t.Fatalf("packs with outcome %q", out.Outcome)
		}
		if out.Outcome != align.Withheld {
			checkForecast(t, in, out, raises)
		}
		checkStockKept(t, in, out)
	})
}

func checkForecast(t *rapid.T, in align.Input, out align.Centring, raises bool) {
	for _, s := range out.Upper {
		if raises && in.UpperLimits.Least != nil && s.After.Mean < *in.UpperLimits.Least {
			t.Fatal("raises into the upper guide")
		}
		if both := s.AfterBoth; both != nil && (both.Mean < *in.UpperLimits.Least-1e-9 || both.Mean > *in.UpperLimits.Most+1e-9) {
			t.Fatal("upper shims leave a spot outside")
		}
	}
	for i, p := range out.Planes {
		for k, at := range p.Positions {
			if at.After == nil {
				continue
			}
			r := in.Planes[i].Positions[k]
			if math.Abs(at.After.Top.Mean+at.After.Bottom.Mean-r.Top.Mean-r.Bottom.Mean) > 1e-12 {
				t.Fatal("shims changed the size of the opening")
			}
			if raises && (at.After.Top.Mean <= 0 || at.After.Bottom.Mean <= 0) {
				t.Fatal("raises the rod into its opening")
			}
		}
	}
}

func checkStockKept(t *rapid.T, in align.Input, out align.Centring) {
	used := make([]int, len(in.Stock))
	take := func(p *align.Pack) {
		for _, name := range p.Pieces {
			i, _ := strconv.Atoi(name)
			used[i]++
		}
	}
	for i, p := range out.Packs {
		take(&out.Packs[i])
		if p.Where == align.UnderBoth {
			take(&out.Packs[i])
		}
		if out.Wanted.Equal != (p.Where == align.UnderBoth) {
			t.Fatal("equal shims, different packs")
		}
	}
	if u := out.UpperFix; u != nil && u.Pack != nil {
		take(u.Pack)
		take(u.Pack)
	}
	for i, n := range used {
		if in.Stock[i].Count > 0 && n > in.Stock[i].Count {
			t.Fatalf("%d of shim %d used", n, i)
		}
	}
}

func allFinite(t *rapid.T, v reflect.Value) {
	switch v.Kind() {
	case reflect.Float64:
		if math.IsNaN(v.Float()) || math.IsInf(v.Float(), 0) {
			t.Fatal("not finite")
		}
	case reflect.Pointer:
		if !v.IsNil() {
			allFinite(t, v.Elem())
		}
	case reflect.Struct:
		for i := range v.NumField() {
			allFinite(t, v.Field(i))
		}
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			allFinite(t, v.Index(i))
		}
	}
}

// Turning the pump upside down turns every figure.
func TestUpsideDown(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := anyInput(t)
		in.Upper, in.Stock, in.Level = nil, nil, nil
		flipped := in
		flipped.Planes = nil
		for _, p := range in.Planes {
			p.Positions = slices.Clone(p.Positions)
			for i, r := range p.Positions {
				p.Positions[i].Top, p.Positions[i].Bottom = r.Bottom, r.Top
			}
			flipped.Planes = append(flipped.Planes, p)
		}
		a, errA := align.Centre(in)
		b, errB := align.Centre(flipped)
		if errA != nil || errB != nil {
			t.Fatal(errA, errB)
		}
		for i := range a.Planes {
			x, y := a.Planes[i].Height, b.Planes[i].Height
			if (x == nil) != (y == nil) || x != nil && math.Abs(x.Mean.Mean+y.Mean.Mean) > 1e-15 {
				t.Fatal("height does not turn")
			}
		}
		if a.Wanted != nil && b.Wanted != nil && math.Abs(a.Wanted.Front.Mean+b.Wanted.Front.Mean) > 1e-9 {
			t.Fatal("lift does not turn")
		}
	})
}
