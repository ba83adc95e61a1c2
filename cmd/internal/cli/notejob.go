package cli

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"telltale/cmd/internal/dialogue"
	"telltale/cmd/internal/pages"
	"telltale/engine"
	"telltale/engine/upkeep"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/evidence/source"
	"telltale/rules"
)

// What note takes of a job on a pump of a rig.
const (
	noteClosed    = "closed"
	noteOpenAgain = "open-again"
	noteChanged   = "changed"
	noteShims     = "shims"
	noteUpkeep    = "upkeep-done"
	noteHours     = "hours"
	noteDate      = "date"
	stillGood     = "still-good"
	noteFound     = "found"
)

var jobWords = []string{noteClosed, noteOpenAgain, noteChanged, noteShims, noteUpkeep, noteHours, noteDate}

// ofJob says whether words are said of a job by name: "changed the piston" is told.
func ofJob(book *rules.Book, words []string) bool {
	switch words[0] {
	case noteClosed:
		return len(words) == 1 || words[1] == noteFound || strings.ContainsAny(words[1], "0123456789")
	case noteChanged:
		return len(words) == 1 || book.Parts.Get(words[1]) != nil || strings.Contains(words[1], "-") || len(words) > 2 && isPlace(words[2])
	case noteShims:
		return len(words) == 1 || slices.Contains(words, "put-in") || slices.Contains(words, "taken-out")
	}
	return slices.Contains(jobWords, words[0])
}

// isPlace says whether a word can be a place of some pump.
func isPlace(word string) bool {
	for _, action := range evidence.Actions() {
		if slices.Contains(evidence.DefaultCylinders(evidence.Action(action)), word) {
			return true
		}
	}
	return false
}

// noteJob reads what is said of a job.
func noteJob(book *rules.Book, k *evidence.Case, words []string) ([]record.Edit, error) {
	what, rest := words[0], words[1:]
	if k == nil || k.Job.Pump == "" {
		return nil, usageError{fmt.Errorf("%s is said of a job on a pump of a rig; expected a case with job: in it", what)}
	}
	if k.Job.IsClosed() && what != noteOpenAgain {
		return nil, usageError{fmt.Errorf("%s: this job was closed on %s; first: note JOB %s", what, k.Job.Closed.Format(evidence.DateForm), noteOpenAgain)}
	}
	switch {
	case what == noteClosed:
		return closing(book, k, rest)
	case what == noteOpenAgain && len(rest) == 0 && k.Job.IsClosed():
		return []record.Edit{record.SetJob(record.JobClosed, "")}, nil
	case what == noteOpenAgain:
		return nil, usageError{errors.New("open-again stands alone, and is said of a closed job")}
	case len(rest) == 0:
		return nil, usageError{fmt.Errorf("%q alone says nothing; say what it is, as in: note JOB changed piston 2, or: note JOB hours \"412 h\"", what)}
	case what == noteHours:
		return []record.Edit{record.SetJob(record.JobHours, strings.Join(rest, " "))}, nil
	case what == noteDate:
		return []record.Edit{record.SetJob(record.JobDate, strings.Join(rest, " "))}, nil
	case what == noteChanged:
		return partsChanged(book, k, rest)
	case what == noteShims:
		return shimmed(k, rest)
	}
	if book.Upkeep.Get(rest[0]) == nil {
		return nil, usageError{fmt.Errorf("unknown name %q%s", source.Clip(rest[0]), source.Expected(rest[0], book.Upkeep.IDs()))}
	}
	places, err := placesNamed(k, rest[1:])
	return []record.Edit{record.UpkeepDone(rest[0], places...)}, err
}

func placesNamed(k *evidence.Case, words []string) (out []evidence.Place, err error) {
	for _, text := range words {
		p, allowed, ok := k.Pump.Find(text)
		if !ok {
			return nil, usageError{fmt.Errorf("this pump has no %q%s", source.Clip(text), source.Expected(text, allowed))}
		}
		out = append(out, p)
	}
	return out, nil
}

// closing closes a job where nothing stands against it.
func closing(book *rules.Book, k *evidence.Case, rest []string) ([]record.Edit, error) {
	day := max(time.Now().Format(evidence.DateForm), k.Job.Date.Format(evidence.DateForm))
	found := ""
	if i := slices.Index(rest, noteFound); i >= 0 {
		if found = strings.Join(rest[i+1:], " "); found == "" {
			return nil, usageError{errors.New("found what? as in: note JOB closed found \"a washed joint\"")}
		}
		rest = rest[:i]
	}
	if len(rest) > 0 {
		day = rest[0]
	}
	if len(rest) > 1 {
		return nil, usageError{errors.New("closed takes a date, like 2026-03-04, and found with what was found")}
	}
	report, err := engine.Diagnose(book.WithoutFirmness(), k)
	if err != nil {
		return nil, err
	}
	if why := pages.NotToClose(book, report, k); len(why) > 0 {
		return nil, usageError{fmt.Errorf("closed: refused, nothing was written:\n- %s", strings.Join(why, "\n- "))}
	}
	edits := []record.Edit{record.SetJob(record.JobClosed, day)}
	if found != "" {
		edits = append(edits, record.SetJob(record.JobFound, found))
	}
	return edits, nil
}

// partsChanged reads a part, its places, and that the old one was still good.
func partsChanged(book *rules.Book, k *evidence.Case, rest []string) ([]record.Edit, error) {
	part := book.Parts.Get(rest[0])
	if part == nil {
		return nil, usageError{fmt.Errorf("unknown part %q%s", source.Clip(rest[0]), source.Expected(rest[0], book.Parts.IDs()))}
	}
	words, good := rest[1:], false
	if n := len(words); n > 0 && words[n-1] == stillGood {
		words, good = words[:n-1], true
	}
	places, err := placesNamed(k, words)
	if err != nil {
		return nil, err
	}
	if part.Level != evidence.OfPump && len(places) == 0 {
		return nil, usageError{fmt.Errorf("%s was put in new, but where? as in: note JOB changed %s %s", part.ID, part.ID, k.Pump.Places(part.Level)[0])}
	}
	if len(places) == 0 {
		places = []evidence.Place{{}}
	}
	var out []record.Edit
	for _, at := range places {
		out = append(out, record.PutInNew(part.ID, at, good))
	}
	return out, nil
}

// shimmed reads a cylinder and what was put under its lower guide or taken out: one
// thickness, or the one at the rear and the one at the front.
func shimmed(k *evidence.Case, rest []string) ([]record.Edit, error) {
	usage := usageError{errors.New(`shims needs a cylinder and how thick: note JOB shims 2 put-in "12 thou"; not the same at both ends: put-in "12 thou" "10 thou", rear first; or taken-out`)}
	places, err := placesNamed(k, rest[:1])
	if err != nil {
		return nil, err
	}
	packs := map[string]*record.Pack{}
	for words := rest[1:]; len(words) > 0; {
		what, n := words[0], 1
		if what != "put-in" && what != "taken-out" || packs[what] != nil {
			return nil, usage
		}
		for n < len(words) && words[n] != "put-in" && words[n] != "taken-out" {
			n++
		}
		switch n {
		case 2:
			packs[what] = &record.Pack{Rear: words[1]}
		case 3:
			packs[what] = &record.Pack{Rear: words[1], Front: words[2]}
		default:
			return nil, usage
		}
		words = words[n:]
	}
	if len(packs) == 0 {
		return nil, usage
	}
	return []record.Edit{record.Shims(places[0], packs["put-in"], packs["taken-out"])}, nil
}

// closedNow is the close-out of a job that was closed just now, and that its pump's
// file does not have all that it changed.
func closedNow(book *rules.Book, before, after *evidence.Case, file *record.File) []string {
	if before == nil || before.Job.IsClosed() || !after.Job.IsClosed() {
		return nil
	}
	out := []string{pages.CloseOut(upkeep.CloseOutOf(book, after, file.Words().Pump))}
	stands, err := dialogue.StandsOf(book, after, file.Text(), "")
	if err != nil {
		return out
	}
	if next, err := stands.Prompt(); err == nil && !next.Over() {
		out = append(out, "its pump's file does not have all that this job tells: telltale ask "+file.Name()+" offers it line by line")
	}
	return out
}
