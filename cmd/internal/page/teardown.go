package page

import (
	"fmt"
	"strings"

	"telltale/engine"
)

// present drops blocks that have nothing to say.
func present(blocks []block) []block {
	var out []block
	for _, b := range blocks {
		if len(b.paras)+len(b.list) > 0 || b.table != nil {
			out = append(out, b)
		}
	}
	return out
}

func people(n int) string {
	if n == 1 {
		return "1 person"
	}
	return fmt.Sprintf("%d people", n)
}

func spareText(s engine.SpareReport) string {
	if places := placesOf(s.Places); places != "" {
		return s.Title + ", " + places
	}
	return s.Title
}

// besidesText says what must be opened besides to fit a part; empty if the
// plan gets at it.
func besidesText(s engine.SpareReport) string {
	var list []string
	for _, o := range s.OpenBesides {
		list = append(list, fmt.Sprintf("%s (%s with closing, %s)", Titled(o.Title, o.Place), Minutes(o.Minutes), people(o.Hands)))
	}
	if len(list) == 0 {
		return ""
	}
	return "To fit it, open also: " + strings.Join(list, "; ")
}

// wornText says how long a part has run past its life.
func wornText(w engine.WornReport) string {
	life := "its expected life is " + significant(w.Life, 3) + " h"
	if w.By == "median" {
		life = "by the record half of them have failed by " + significant(w.Life, 3) + " h"
	}
	return fmt.Sprintf("%s has run %s h; %s. Nothing more to open: change it now.", Titled(w.Title, w.Place), significant(w.Hours, 3), life)
}

// ExtraText says what a look while it is open costs now and later, and what it
// looks for.
func ExtraText(e engine.ExtraReport) string {
	text := fmt.Sprintf("%s now; coming back for it would take %s. Chance that it shows something: %s.", Minutes(e.Minutes), Minutes(e.ComeBack), Percent(e.Chance))
	if e.Pays {
		text += " By these figures it pays to do it now."
	}
	return text + " Look for: " + strings.Join(e.Looks, "; ") + "."
}
