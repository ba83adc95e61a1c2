package drawing

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"telltale/cmd/internal/doc"
)

// element is one mark of a picture as a reader of the file sees it.
type element struct {
	name string
	at   map[string]string
	text string
}

func (e element) number(t require.TestingT, key string) float64 {
	x, err := strconv.ParseFloat(e.at[key], 64)
	require.NoError(t, err, "%s of %s", key, e.name)
	return x
}

// read parses a picture; it must be well-formed XML.
func read(t require.TestingT, p doc.Figure) []element {
	d := xml.NewDecoder(strings.NewReader(p.SVG))
	var out []element
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return out
		}
		require.NoError(t, err)
		switch x := token.(type) {
		case xml.StartElement:
			e := element{name: x.Name.Local, at: map[string]string{}}
			for _, a := range x.Attr {
				e.at[a.Name.Local] = a.Value
			}
			out = append(out, e)
		case xml.CharData:
			if len(out) > 0 {
				out[len(out)-1].text += strings.TrimSpace(string(x))
			}
		}
	}
}

// named picks elements.
func named(list []element, name string) []element {
	var out []element
	for _, e := range list {
		if e.name == name {
			out = append(out, e)
		}
	}
	return out
}

// sound holds for every picture: nothing from outside, words for what it
// shows, every mark inside, no text out of it.
func sound(t require.TestingT, p doc.Figure) []element {
	list := read(t, p)
	for _, bad := range []string{"url(", "http", "<script", "<image", "href", "@import", "NaN", "Inf", "-0 ", `"-0"`} {
		assert.NotContains(t, p.SVG, bad)
	}
	require.NotEmpty(t, list)
	width, height := list[0].number(t, "width"), list[0].number(t, "height")
	assert.Contains(t, []float64{Width, HandWidth}, width)
	assert.Equal(t, fmt.Sprintf("0 0 %s %s", list[0].at["width"], list[0].at["height"]), list[0].at["viewBox"])
	require.Len(t, named(list, "title"), 1)
	assert.NotEmpty(t, named(list, "title")[0].text)
	desc := named(list, "desc")[0].text
	assert.NotEmpty(t, p.Says)
	for _, line := range p.Says {
		assert.NotEmpty(t, line)
	}
	assert.NotEmpty(t, desc)
	assert.Equal(t, p.Name+"-t "+p.Name+"-d", list[0].at["aria-labelledby"])
	inside := func(e element, x, y float64) {
		assert.True(t, x >= -0.05 && x <= width+0.05 && y >= -0.05 && y <= height+0.05, "%s at %g, %g of %g by %g: %v", e.name, x, y, width, height, e.at)
	}
	for _, e := range list {
		switch e.name {
		case "line":
			inside(e, e.number(t, "x1"), e.number(t, "y1"))
			inside(e, e.number(t, "x2"), e.number(t, "y2"))
		case "rect":
			inside(e, e.number(t, "x"), e.number(t, "y"))
			inside(e, e.number(t, "x")+e.number(t, "width"), e.number(t, "y")+e.number(t, "height"))
		case "circle":
			r := e.number(t, "r")
			inside(e, e.number(t, "cx")-r, e.number(t, "cy")-r)
			inside(e, e.number(t, "cx")+r, e.number(t, "cy")+r)
		case "text":
			// A letter takes 0.6 of the size on average (DejaVu Sans, measured).
			long := float64(len([]rune(e.text))) * textSize * 0.6
			left := map[string]float64{start: 0, middle: long / 2, end: long}[e.at["text-anchor"]]
			x, y := e.number(t, "x"), e.number(t, "y")
			inside(e, x-left, y-textSize*0.8)
			inside(e, x-left+long, y+3)
		}
	}
	return list
}

func m(metres float64, label string) *Mark { return &Mark{Metres: metres, Label: label} }

// position is a rod with clearances in thou.
func position(name string, top, bottom, left, right float64) RodPosition {
	const thou = 25.4e-6
	say := func(x float64) *Mark { return m(x*thou, fmt.Sprintf("%.1f", x)) }
	return RodPosition{Name: name, Top: say(top), Bottom: say(bottom), Left: say(left), Right: say(right), Height: say((bottom - top) / 2), Side: say((left - right) / 2)}
}

// gaps measures the drawn clearances around the first rod of a picture.
func gaps(t require.TestingT, list []element) (top, bottom, left, right float64) {
	circles := named(list, "circle")
	opening, rod := circles[0], circles[1]
	require.Equal(t, float64(openingRadius), opening.number(t, "r"))
	require.Equal(t, float64(rodRadius), rod.number(t, "r"))
	dx, dy := rod.number(t, "cx")-opening.number(t, "cx"), rod.number(t, "cy")-opening.number(t, "cy")
	return meanGap + dy, meanGap - dy, meanGap + dx, meanGap - dx
}

// A rod far off its centre is drawn to scale: the gaps are as the clearances.
func TestRodFarOffIsDrawnToScale(t *testing.T) {
	r := Rod{Name: "rod", Cylinder: "cylinder 2", Unit: "thou", Positions: []RodPosition{position("middle", 200, 50, 125, 125)}}
	require.Equal(t, 1.0, r.exaggeration())
	p := r.Draw()
	list := sound(t, p)
	top, bottom, left, right := gaps(t, list)
	assert.InEpsilon(t, 200.0/50, top/bottom, 0.03)
	assert.InDelta(t, left, right, 0.11)
	assert.Contains(t, strings.Join(p.Says, " "), "is to scale with the gaps")
}

// A rod a little off is drawn farther off, and the picture says how much; low
// is drawn low, and right is drawn right.
func TestRodALittleOffIsExaggerated(t *testing.T) {
	r := Rod{Name: "rod", Cylinder: "cylinder 2", Unit: "thou", After: "after the shims", Positions: []RodPosition{position("back", 142, 118, 135, 125)}}
	after := position("back", 130, 130, 0, 0)
	r.Positions[0].After = &RodPosition{Top: after.Top, Bottom: after.Bottom, Height: after.Height}
	p := r.Draw()
	list := sound(t, p)
	top, bottom, left, right := gaps(t, list)
	assert.Equal(t, 5.0, r.exaggeration())
	assert.Greater(t, top, bottom, "the rod hangs low: more room above")
	assert.Greater(t, left, right, "the rod stands to the right")
	assert.InDelta(t, 5*12.0/130*meanGap, (top-bottom)/2, 0.06)
	assert.InDelta(t, 5*5.0/130*meanGap, (left-right)/2, 0.06)
	assert.Contains(t, strings.Join(p.Says, " "), "drawn 5 times too large")
	var dashedRods int
	for _, e := range named(list, "circle") {
		if strings.HasPrefix(e.at["stroke-dasharray"], "6") {
			dashedRods++
			assert.InDelta(t, named(list, "circle")[0].number(t, "cy"), e.number(t, "cy"), 0.06, "after the shims it stands in the middle")
		}
	}
	assert.Equal(t, 1, dashedRods)
}

// Whatever was read, the rod stays inside the picture and each figure is on it.
func TestRodStaysInside(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		clearance := rapid.Float64Range(0, 300)
		r := Rod{Name: "rod", Cylinder: rapid.String().Draw(t, "name"), Unit: "thou", After: "if raised"}
		if rapid.Bool().Draw(t, "one of several") {
			r.Title = "Plane 2"
		}
		for _, name := range positions {
			p := position(name, clearance.Draw(t, "top"), clearance.Draw(t, "bottom"), clearance.Draw(t, "left"), clearance.Draw(t, "right"))
			switch rapid.IntRange(0, 3).Draw(t, "kind") {
			case 0:
				p.Bottom, p.Height = nil, nil
			case 1:
				p.Left, p.Right, p.Side = nil, nil, nil
			case 2:
				after := position(name, clearance.Draw(t, "after"), -clearance.Draw(t, "under"), 1, 1)
				p.After = &RodPosition{Top: after.Top, Bottom: after.Bottom, Height: after.Height}
			}
			r.Positions = append(r.Positions, p)
		}
		r.Cylinder = strings.Map(func(r rune) rune {
			if r < ' ' || r == 0xFFFE || r == 0xFFFF || r == 0x7F {
				return 'x'
			}
			return r
		}, r.Cylinder)
		list := sound(t, r.Draw())
		for _, p := range r.Positions {
			if p.Top != nil {
				assert.Contains(t, texts(list), "top "+p.Top.Label)
			}
		}
	})
}

func texts(list []element) []string {
	var out []string
	for _, e := range named(list, "text") {
		out = append(out, e.text)
	}
	return out
}

// The measured travel is drawn to one scale, and the picture says which.
func TestSideDrawsTheTravelToItsScale(t *testing.T) {
	const thou = 25.4e-6
	s := Side{Name: "side", Cylinder: "cylinder 1", Unit: "thou", After: "after the shims", Parted: true, Front: "9.0 thou", Rear: "7.0 thou",
		Over: []Over{{"rear", "30.5", "23.5"}, {"front", "29.5", ""}},
		Planes: []Rod{{Title: "Plane 1", Positions: []RodPosition{
			{Name: "back", Height: m(-4*thou, "4.0 low"), After: &RodPosition{Height: m(3*thou, "3.0 high")}},
			{Name: "middle", Height: m(-6*thou, "6.0 low"), After: &RodPosition{Height: m(1*thou, "1.0 high")}},
			{Name: "front", Height: m(-8*thou, "8.0 low")}}},
			{Title: "Plane 2", Positions: []RodPosition{{Name: "middle", Height: m(2*thou, "2.0 high")}}}}}
	p := s.Draw()
	list := sound(t, p)
	var dots []element
	for _, e := range named(list, "circle") {
		if e.at["fill"] == "#000" {
			dots = append(dots, e)
		}
	}
	require.Len(t, dots, 4)
	perThou := (dots[2].number(t, "cy") - dots[0].number(t, "cy")) / 4
	scale := s.enlarged(chartRoom)
	assert.InDelta(t, scale*thou*pixelsPerMetre, perThou, 0.05)
	assert.InDelta(t, 2*perThou, dots[1].number(t, "cy")-dots[0].number(t, "cy"), 0.11)
	assert.Contains(t, strings.Join(p.Says, " "), fmt.Sprintf("Drawn %.0f times its size", scale))
	for _, want := range []string{"4.0 low", "8.0 low", "3.0 high", "2.0 high", "Shims under the lower guide, rear end: 7.0 thou.", "rear: 30.5; after the shims 23.5", "rods parted"} {
		assert.Contains(t, texts(list), want)
	}
	assert.Contains(t, p.Says, "Rod's height at the opening (Plane 1), now, in thou: back 4.0 low, middle 6.0 low, front 8.0 low.")
}

// With no readings of the rod, and with a height past all scales, it still
// draws.
func TestSideWithoutReadings(t *testing.T) {
	sound(t, (&Side{Name: "side", Cylinder: "cylinder 1", Unit: "mm", After: "after the shims", Over: []Over{{"rear", "0.400", ""}}}).Draw())
	far := Side{Name: "side", Unit: "mm", After: "if raised", Planes: []Rod{{Positions: []RodPosition{{Name: "back", Height: m(0.09, "90.000 high")}}}}}
	sound(t, far.Draw())
}

// Down is drawn down, by the force.
func TestTurnDrawsDownDown(t *testing.T) {
	pic := (&Turn{Name: "turn", Forward: []float64{0, 0, 0, 50, 100, 50, 0}, Reverse: []float64{0, 0, 0, -50, -100, -50, 0}, Most: "100 lbf (0.445 kN)", Rotation: "reverse"}).Draw()
	list := sound(t, pic)
	paths := named(list, "path")
	require.Len(t, paths, 2)
	forward, reverse := ys(t, paths[0].at["d"]), ys(t, paths[1].at["d"])
	assert.InDelta(t, turnZero, forward[0], 0.05)
	assert.InDelta(t, turnZero+turnRoom, forward[4], 0.05)
	assert.InDelta(t, turnZero+turnRoom/2, forward[3], 0.05)
	assert.InDelta(t, turnZero-turnRoom, reverse[4], 0.05)
	assert.Contains(t, texts(list), "turning in reverse (this pump)")
	assert.Contains(t, texts(list), "most either way: 100 lbf (0.445 kN)")
}

func ys(t *testing.T, d string) []float64 {
	var out []float64
	fields := strings.Fields(d)
	for i := 1; i < len(fields); i += 2 {
		y, err := strconv.ParseFloat(fields[i], 64)
		require.NoError(t, err)
		out = append(out, y)
	}
	return out
}

// Bars are as long as their weights, to the right for and to the left against.
func TestEvidenceBarsAreToScale(t *testing.T) {
	pic := (&Evidence{Name: "evidence", Causes: []Cause{{Title: "Cause <b>", Reasons: []Reason{
		{Text: "A & b", Decibans: 8, Words: "clearly"}, {Text: "C", Decibans: -4, Words: "somewhat"}, {Text: "nothing", Decibans: 0, Words: "a little"},
	}}, {Title: "Other", Reasons: []Reason{{Text: strings.Repeat("x", 300), Decibans: 2, Words: "somewhat"}}}}}).Draw()
	list := sound(t, pic)
	bars := named(list, "rect")
	require.Len(t, bars, 4)
	assert.InDelta(t, barRoom, bars[0].number(t, "width"), 0.05)
	assert.InDelta(t, barZero, bars[0].number(t, "x"), 0.05)
	assert.InDelta(t, barRoom/2, bars[1].number(t, "width"), 0.05)
	assert.InDelta(t, barZero, bars[1].number(t, "x")+bars[1].number(t, "width"), 0.11)
	assert.InDelta(t, barRoom/4, bars[3].number(t, "width"), 0.05)
	for _, want := range []string{"clearly", "somewhat", "a little", "A & b"} {
		assert.Contains(t, texts(list), want)
	}
	assert.Contains(t, pic.Says[0], "A & b speaks clearly for it; C speaks somewhat against it")
}

// The stair rises at the end of each check by its chance.
func TestFoundRisesAtTheEndOfAChecks(t *testing.T) {
	f := Found{Name: "found", Checks: []FoundAt{{15, 68, 0.21, "68 min", "20 %"}, {17, 91, 0.49, "91 min", "50 %"}, {22, 191, 0.96, "191 min", "over 95 %"}},
		Means: []Mean{{115, "to the cause on average by this order: 115 min"}, {126, "going by the likeliest cause first: 126 min"}, {124, "by a fixed order: 124 min"}}}
	pic := f.Draw()
	list := sound(t, pic)
	stair := named(list, "path")[0].at["d"]
	y := ys(t, stair)
	require.Len(t, y, 7)
	assert.InDelta(t, y[0]-0.21*foundHeight, y[2], 0.11)
	assert.InDelta(t, y[0]-0.96*foundHeight, y[6], 0.11)
	var x []float64
	for i, f := range strings.Fields(stair) {
		if i%2 == 0 {
			v, err := strconv.ParseFloat(f[1:], 64)
			require.NoError(t, err)
			x = append(x, v)
		}
	}
	assert.InDelta(t, 68.0/191, (x[1]-x[0])/(x[5]-x[0]), 0.001)
	joined := strings.Join(pic.Says, " ")
	for _, want := range []string{"step 15, 68 min: 20 %", "by a fixed order: 124 min"} {
		assert.Contains(t, joined, want)
	}
	assert.Contains(t, strings.Join(texts(list), " "), "A to the cause on average by this order: 115 min B going by")
}

// Text from a file stays text, whatever it holds.
func TestHostileTextStaysText(t *testing.T) {
	for _, text := range hostile {
		for _, p := range []doc.Figure{
			(&Evidence{Name: "evidence", Causes: []Cause{{Title: text, Reasons: []Reason{{Text: text, Decibans: 1, Words: "a little"}}}}}).Draw(),
			(&Rod{Name: "rod", Cylinder: text, Unit: "mm", Positions: []RodPosition{position("back", 1, 2, 3, 4)}}).Draw(),
			(&Side{Name: "side", Cylinder: text, Unit: "mm"}).Draw(),
		} {
			list := read(t, p)
			for _, e := range list {
				assert.Contains(t, []string{"svg", "title", "desc", "line", "rect", "circle", "path", "text"}, e.name)
				for key := range e.at {
					assert.False(t, key == "style" || strings.HasPrefix(key, "on"), key)
				}
			}
		}
	}
}

var hostile = []string{
	`<script>alert(1)</script>`, `"><img src=x onerror=alert(1)>`, `' onload='alert(1)`, `</text></svg><script>1</script>`, `]]>`, `</style>`,
	`&lt;b&gt; &#8238; &amp;`, "\u202egnitfil\u202c \u200f", strings.Repeat("Verylongword", 40), `{{.}} ${x} url(x)`, "漢字かな交じり文",
}

// A tie is printed alike whichever way a sum was rounded, and nothing has no
// sign.
func TestNumbersAreStable(t *testing.T) {
	assert.Equal(t, "12.3", number(12.25))
	assert.Equal(t, number(12.25), number(math.Nextafter(12.25, 0)))
	assert.Equal(t, "0", number(-0.04))
	assert.Equal(t, "-0.3", number(-0.3))
	assert.Equal(t, "7", number(7))
}
