package dialogue

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"telltale/cmd/internal/prompt"
	"telltale/engine/chances"
	"telltale/engine/interview"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/rules"
)

// A change of the pressure that was told without figures: whether the strokes alone make
// it is known from the gauges before and now.

// gaugesLog is what the log says where nobody knows these figures: they are asked for
// once.
const gaugesLog = "said: the gauges before and now are not known"

// toldPressure gives the sign of a change of the pressure that was told; nil if none was.
func (r *round) toldPressure() *rules.Sign {
	for _, t := range r.Book.Thresholds.List {
		if t.Of != rules.PressureUnderBy && t.Of != rules.PressureOverBy {
			continue
		}
		if slices.ContainsFunc(r.k.Findings, func(f evidence.Finding) bool {
			return f.Sign == t.Sign && f.Answer == evidence.Present && !f.Measured
		}) {
			return r.Book.Signs.Get(t.Sign)
		}
	}
	return nil
}

// asksGauges says whether to ask for the gauges: behind the first question or step, of a
// change that was told, where it would change what is done or what is likeliest if the
// strokes alone made it.
func (r *round) asksGauges(m *interview.Move) bool {
	acted := r.s.Sitting.InARow > 0 || len(r.s.Sitting.Safe)+len(r.k.Cleared)+len(r.k.Unclear) > 0
	if m.First || m.Kind != interview.Ask && m.Kind != interview.Do || !acted || r.k.Measured.BeforeAndNow != nil || r.k.Pump.State == evidence.Isolated {
		return false
	}
	if slices.ContainsFunc(r.k.Log, func(e evidence.LogEntry) bool { return e.Did == gaugesLog }) {
		return false
	}
	sign := r.toldPressure()
	return sign != nil && interview.Matters(r.Book, r.k, m.Report, sign.ID)
}

// gauges asks what the gauges said before and say now, on one line.
func (r *round) gauges() turn {
	sign := r.toldPressure()
	p := prompt.Prompt{
		ID: "gauges", About: about("sign", sign.ID), Back: backOne, Leave: leave, Entry: &prompt.Entry{}, Options: []prompt.Option{dontKnow},
		Ask: "What did the gauges say? Pressure before, now, strokes before, now: 2800 2400 95 90. Strokes once if they are the same. Without a unit it is psi.",
	}
	return turn{Prompt: p, Take: func(a prompt.Answer) turn {
		if a.One() == dontKnow.ID {
			return write(r.log(gaugesLog))
		}
		edits, wrong := gauged(a.Text)
		switch {
		case wrong != "" && !strings.ContainsAny(a.Text, "0123456789"):
			return r.hear(a.Text, Tale{})
		case wrong != "":
			return say(wrong)
		case r.refuses(edits): // the figures stand against the word
			edits = append([]record.Edit{record.ClearFinding(sign.ID)}, append(edits, r.log("by the gauges, not as told: "+sign.Title))...)
		}
		return write(edits...)
	}}
}

// refuses says whether the case cannot take some edits.
func (r *round) refuses(edits []record.Edit) bool {
	_, k, err := record.Apply(r.File, r.text, r.words(), edits...)
	return err != nil || chances.Accepts(r.Book, r.k, k) != nil
}

var (
	aFigure    = regexp.MustCompile(`[0-9]+(?:\.[0-9]+)?`)
	thousands  = regexp.MustCompile(`([0-9]),([0-9]{3})\b`)
	aUnit      = regexp.MustCompile(`(?i)\b(psi|bar|kpa|mpa)\b`)
	unitNames  = map[string]string{"psi": "psi", "bar": "bar", "kpa": "kPa", "mpa": "MPa"}
	gaugesForm = "Type three or four numbers: pressure before, pressure now, strokes before, strokes now."
)

// gauged reads such a line into edits; wrong says what is wrong with it.
func gauged(text string) (edits []record.Edit, wrong string) {
	figures := aFigure.FindAllString(thousands.ReplaceAllString(text, "$1$2"), -1)
	if len(figures) == 3 {
		figures = append(figures, figures[2])
	}
	if len(figures) != 4 {
		return nil, fmt.Sprintf("%q is not that. %s", prompt.Clip(text), gaugesForm)
	}
	unit := "psi"
	if found := aUnit.FindString(text); found != "" {
		unit = unitNames[strings.ToLower(found)]
	}
	for i, at := range []string{"before", "now"} {
		edits = append(edits,
			record.SetMeasured(figures[i]+" "+unit, "before-and-now", at, "discharge"),
			record.SetMeasured(figures[i+2]+" strokes/min", "before-and-now", at, "speed"))
	}
	return edits, ""
}
