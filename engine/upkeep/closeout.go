package upkeep

import (
	"slices"

	"telltale/evidence"
	"telltale/rules"
)

// CloseOut is what a closed job came to.
type CloseOut struct {
	Closed string // its date
	Found  []Found
	Judged []Named // what was taken for it, where no look proved it
	Said   string  // what was found, in the crew's own words
}

// Found is what a job proved, and what it proved to have brought it on.
type Found struct {
	Named
	Roots []Named
	// Hours were run with the part that was put in new for it; nil: nobody knows.
	Hours *float64
	// AtLeast: the part was in before the record began.
	AtLeast bool
}

// CloseOutOf says what a closed job came to, with what the jobs of its pump have
// changed before; nil if it is not closed.
func CloseOutOf(book *rules.Book, k *evidence.Case, p *evidence.PumpFile) *CloseOut {
	if !k.Job.IsClosed() {
		return nil
	}
	out := &CloseOut{Closed: k.Job.Closed.Format(evidence.DateForm), Found: foundOn(book, k), Judged: judgedOn(book, k), Said: k.Job.Found}
	for i := range out.Found {
		if f := &out.Found[i]; p != nil {
			f.Hours, f.AtLeast = lastLife(book, k, p, evidence.At{ID: f.ID, Place: f.Place})
		}
	}
	return out
}

// foundOn is what a job proved. A root that brought something of it on is told beside
// that alone.
func foundOn(book *rules.Book, k *evidence.Case) []Found {
	out, broughtOn := []Found{}, map[evidence.At]bool{}
	for _, at := range k.Confirmed {
		f := Found{Named: Named{at.ID, book.Causes.Get(at.ID).Title, at.Place}, Roots: []Named{}}
		for _, root := range rootsProved(book, k, at) {
			broughtOn[evidence.At{ID: root.ID, Place: root.Place}] = true
			f.Roots = append(f.Roots, Named{root.ID, book.Causes.Get(root.ID).Title, root.Place})
		}
		out = append(out, f)
	}
	return slices.DeleteFunc(out, func(f Found) bool {
		return broughtOn[evidence.At{ID: f.ID, Place: f.Place}] && book.Causes.Get(f.ID).Role == rules.Root
	})
}

// judgedOn is what the crew of a job took for it, where no look proved it.
func judgedOn(book *rules.Book, k *evidence.Case) (out []Named) {
	for _, at := range k.Judged {
		out = append(out, Named{at.ID, book.Causes.Get(at.ID).Title, at.Place})
	}
	return out
}

// rootsProved are the causes that a job proved to have brought another on: those of
// which the crew says so, else the proved roots that bring it on by the book.
func rootsProved(book *rules.Book, k *evidence.Case, at evidence.At) (out []evidence.At) {
	for _, b := range k.BroughtOn {
		if b.Failed.ID == at.ID && b.Failed.Place == at.Place {
			if b.By.ID != "" {
				out = append(out, b.By)
			}
			return out
		}
	}
	if book.Causes.Get(at.ID).Role != rules.Failure {
		return nil
	}
	for _, root := range k.Confirmed {
		if book.Causes.Get(root.ID).Role == rules.Root && root.Place.Touches(at.Place) && brings(book, root.ID, at.ID, map[string]bool{}) {
			out = append(out, root)
		}
	}
	return out
}

// brings says whether one cause brings another on, by itself or through others.
func brings(book *rules.Book, cause, other string, seen map[string]bool) bool {
	if seen[cause] {
		return false
	}
	seen[cause] = true
	return slices.ContainsFunc(book.Causes.Get(cause).Brings, func(b rules.Bring) bool {
		return b.Cause == other || brings(book, b.Cause, other, seen)
	})
}

// lastLife is how many hours the pump ran with the part that a job put in new for a
// cause, the likeliest of its parts first.
func lastLife(book *rules.Book, k *evidence.Case, p *evidence.PumpFile, at evidence.At) (hours *float64, atLeast bool) {
	if k.Job.Hours == nil {
		return nil, false
	}
	until := p.Total(k.Job.Date, *k.Job.Hours)
	records := p.Records(until, book.Vocabulary())
	for _, need := range book.Causes.Get(at.ID).Parts {
		if !slices.ContainsFunc(k.Changed, func(c evidence.NewPart) bool { return c.Part == need.Part && c.Place.Touches(at.Place) }) {
			continue
		}
		for _, rec := range records {
			if rec.Part != need.Part {
				continue
			}
			for _, place := range rec.Replaced {
				if !place.Place.Touches(at.Place) {
					continue
				}
				since, known := rec.From.SI, len(place.At) > 0
				if known {
					since = place.At[len(place.At)-1].SI
				}
				h := (until - since) / 3600
				return &h, !known
			}
		}
	}
	return nil, false
}
