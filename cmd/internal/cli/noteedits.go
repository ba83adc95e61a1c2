package cli

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"sort"
	"strings"
	"time"

	"telltale/engine/chances"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/evidence/source"
	"telltale/rules"
)

// pumpKeys are the keys of the pump that note sets.
var pumpKeys = []string{"name", "state", "rotation", "liner", "stroke", "piston-rod", "connecting-rod", "speed", "discharge"}

// noteEdits reads what is to be written.
func noteEdits(book *rules.Book, k *evidence.Case, words []string) ([]record.Edit, error) {
	what, rest := words[0], words[1:]
	if ofJob(book, words) {
		return noteJob(book, k, words)
	}
	if len(rest) == 0 {
		return nil, usageError{fmt.Errorf("%q alone says nothing; say what it is, as in: note CASE wiper-leaks again 2, or tell it in a few words", source.Clip(what))}
	}
	if k == nil && what != "pump" {
		return nil, usageError{errors.New("the file is empty; start it with: note CASE pump triplex-single-acting running")}
	}
	switch {
	case what == "pump":
		if k != nil || len(rest) != 2 {
			return nil, usageError{errors.New("pump starts a new file: note NEW.yaml pump triplex-single-acting running")}
		}
		return []record.Edit{record.SetPump("action", rest[0]), record.SetPump("state", rest[1])}, nil
	case slices.Contains(lockWords, what):
		return noteLock(what, rest, evidence.Stamp(time.Now()))
	case what == "recent" || what == "recent-not":
		return noteRecent(book, what, rest)
	case slices.Contains(pumpKeys, what):
		return []record.Edit{record.SetPump(what, strings.Join(rest, " "))}, nil
	case what == "manual":
		if len(rest) < 2 {
			return nil, usageError{errors.New("manual needs a limit and its figure")}
		}
		return []record.Edit{record.SetManual(rest[0], strings.Join(rest[1:], " "))}, nil
	case what == "taken":
		return noteTaken(rest)
	case what == rules.SuctionBlock:
		return noteSuction(rest)
	case what == noteInService:
		return noteBack(k, rest, evidence.Stamp(time.Now()))
	case what == noteLog:
		return noteLogged(rest, evidence.Stamp(time.Now()))
	case what == "measured":
		if len(rest) < 2 {
			return nil, usageError{errors.New("measured needs its keys and a reading")}
		}
		return noteMeasured(rest), nil
	}
	return noteEntry(book, k, what, rest)
}

// noteMeasured reads keys and one reading, or keys and then several
// KEY=READING, with points between keys: what is wanted together, as a reading
// and its resolution, is written together.
func noteMeasured(words []string) []record.Edit {
	var path []string
	var out []record.Edit
	for _, word := range words {
		key, reading, pair := strings.Cut(word, "=")
		if !pair {
			path = append(path, word)
			continue
		}
		out = append(out, record.SetMeasured(reading, append(slices.Clone(path), strings.Split(key, ".")...)...))
	}
	if len(out) > 0 {
		return out
	}
	return []record.Edit{record.SetMeasured(path[len(path)-1], path[:len(path)-1]...)}
}

// noteSuction reads keys of the suction line with their readings, as noteMeasured does.
func noteSuction(words []string) ([]record.Edit, error) {
	var out []record.Edit
	for _, word := range words {
		key, reading, pair := strings.Cut(word, "=")
		if !pair {
			return nil, usageError{fmt.Errorf("%s takes KEY=READING, as in: note CASE %s mud-weight=\"12 lb/gal\"; read %q", rules.SuctionBlock, rules.SuctionBlock, source.Clip(word))}
		}
		out = append(out, record.SetSuction(reading, strings.Split(key, ".")...))
	}
	return out, nil
}

// noteLogged reads a line of the log: WORDS by NAME, and at TIME.
func noteLogged(words []string, now string) ([]record.Edit, error) {
	said, err := pairsOf(noteLog, words, []string{"by", "at"})
	if err != nil {
		return nil, err
	}
	return []record.Edit{record.AddLog(evidence.LogEntry{At: cmp.Or(said["at"], now), By: said["by"], Did: words[0]})}, nil
}

// noteBack reads who says that the way back to service was gone to its end.
func noteBack(k *evidence.Case, words []string, now string) ([]record.Edit, error) {
	if len(words) != 2 || words[0] != "by" || words[1] == "" {
		return nil, usageError{errors.New("back-in-service needs to know who says so: note CASE back-in-service by NAME")}
	}
	still := stillOn(k)
	if len(k.Pump.Open) > 0 {
		still = append([]string{"something is open on it; each is closed first: note CASE OPENING closed PLACE"}, still...)
	}
	switch {
	case len(still) > 0:
		return nil, usageError{fmt.Errorf("back-in-service: refused, nothing was written: by the case the way back is not at its end:\n- %s", strings.Join(still, "\n- "))}
	case len(k.Pump.ClosedAgain) == 0:
		return nil, usageError{errors.New("back-in-service is said of a pump on which something was closed again; by the case nothing was")}
	case k.Pump.State != evidence.Running:
		return nil, usageError{errors.New("back-in-service is said of a pump that runs again, and by the case it does not; once it runs: note CASE state running")}
	}
	return []record.Edit{record.BackInService(), record.AddLog(evidence.LogEntry{At: now, By: words[1], Did: "says that each step back to service was done"})}, nil
}

// noteTaken reads when something was taken that needs covers off.
func noteTaken(rest []string) ([]record.Edit, error) {
	when := evidence.Taken(rest[0])
	if rest[0] == "clear" {
		when = ""
	} else if times := evidence.TakenTimes(); !slices.Contains(times, rest[0]) {
		return nil, usageError{fmt.Errorf("unknown time %q%s", source.Clip(rest[0]), source.Expected(rest[0], append(times, "clear")))}
	}
	return []record.Edit{record.SetTaken(when, rest[1:]...)}, nil
}

func noteRecent(book *rules.Book, what string, rest []string) ([]record.Edit, error) {
	said := ""
	if len(rest) == 2 && what == "recent" {
		rest, said = rest[:1], rest[1]
	}
	if len(rest) != 1 || book.Works.Get(rest[0]) == nil {
		return nil, usageError{fmt.Errorf("unknown work %q%s", strings.Join(rest, " "), source.Expected(strings.Join(rest, " "), book.Works.IDs()))}
	}
	switch {
	case said == chances.Cured:
		return []record.Edit{record.SayOfRecent(rest[0], record.WorkCured, string(evidence.Yes))}, nil
	case said == chances.NotCured:
		return []record.Edit{record.SayOfRecent(rest[0], record.WorkCured, string(evidence.No))}, nil
	case slices.Contains(evidence.DoneTimes(), said):
		return []record.Edit{record.SayOfRecent(rest[0], record.WorkDone, said)}, nil
	case said != "":
		return nil, usageError{fmt.Errorf("unknown word %q of a work%s", source.Clip(said), source.Expected(said, saidOfWorks()))}
	case what == "recent":
		return []record.Edit{record.AddRecent(rest[0])}, nil
	}
	return []record.Edit{record.RemoveRecent(rest[0])}, nil
}

// saidOfWorks are the words for a work that was done lately.
func saidOfWorks() []string { return append(evidence.DoneTimes(), chances.Cured, chances.NotCured) }

// placed makes the edits of an entry at places.
type placed func(places ...evidence.Place) []record.Edit

// one is placed with a single edit.
func one(edit func(places ...evidence.Place) record.Edit) placed {
	return func(places ...evidence.Place) []record.Edit { return []record.Edit{edit(places...)} }
}

// noteEntry writes an answer to a sign, a check, a cause or an opening; the
// word after a name that is two of them tells which.
func noteEntry(book *rules.Book, k *evidence.Case, id string, rest []string) ([]record.Edit, error) {
	answers := answersOf(book, id)
	if len(answers) == 0 {
		return nil, usageError{fmt.Errorf("unknown name %q%s", source.Clip(id), source.Expected(id, noteNames(book)))}
	}
	edit, known := answers[rest[0]]
	if !known {
		return nil, usageError{fmt.Errorf("%s cannot be %q%s", id, source.Clip(rest[0]), source.Expected(rest[0], keys(answers)))}
	}
	var places []evidence.Place
	for _, text := range rest[1:] {
		p, allowed, ok := k.Pump.Find(text)
		if !ok {
			return nil, usageError{fmt.Errorf("this pump has no %q%s", source.Clip(text), source.Expected(text, allowed))}
		}
		places = append(places, p)
	}
	return edit(places...), nil
}

// answersOf gives what can be said of a name, by the word that says it; clear
// takes back all that was said of it.
func answersOf(book *rules.Book, id string) map[string]placed {
	out := map[string]placed{}
	var back []placed
	if s := book.Signs.Get(id); s != nil {
		for _, word := range append([]string{"present", "absent", "unknown"}, s.KindIDs()...) {
			out[word] = one(func(p ...evidence.Place) record.Edit { return record.SetFinding(id, word, p...) })
		}
		back = append(back, one(func(p ...evidence.Place) record.Edit { return record.ClearFinding(id, p...) }))
	}
	if book.Checks.Get(id) != nil {
		for _, word := range []string{"nothing", "unclear"} {
			out[word] = one(func(p ...evidence.Place) record.Edit { return record.Checked(id, word, p...) })
		}
		back = append(back, one(func(p ...evidence.Place) record.Edit { return record.Unchecked(id, p...) }))
	}
	if book.Causes.Get(id) != nil {
		out["confirmed"] = one(func(p ...evidence.Place) record.Edit { return record.Confirm(id, p...) })
		out["judged"] = one(func(p ...evidence.Place) record.Edit { return record.Judge(id, p...) })
		out["ruled-out"] = one(func(p ...evidence.Place) record.Edit { return record.RuleOut(id, p...) })
		out["corrected"] = one(func(p ...evidence.Place) record.Edit { return record.Corrected(id, p...) })
		out["looked-again"] = one(func(p ...evidence.Place) record.Edit { return record.LookedAgain(id, p...) })
		out["root-left"] = one(func(p ...evidence.Place) record.Edit { return record.LeaveRoot(id, p...) })
		back = append(back, func(p ...evidence.Place) []record.Edit {
			return []record.Edit{record.Unconfirm(id, p...), record.Unjudge(id, p...), record.Unrule(id, p...)}
		})
	}
	if len(back) > 0 {
		out["clear"] = func(p ...evidence.Place) []record.Edit {
			var edits []record.Edit
			for _, b := range back {
				edits = append(edits, b(p...)...)
			}
			return edits
		}
	}
	if book.Openings.Get(id) != nil {
		out["open"] = one(func(p ...evidence.Place) record.Edit { return record.Opened(id, p...) })
		out["closed"] = one(func(p ...evidence.Place) record.Edit { return record.Closed(id, p...) })
	}
	return out
}

func keys(m map[string]placed) []string {
	out := make([]string, 0, len(m))
	for word := range m {
		out = append(out, word)
	}
	sort.Strings(out)
	return out
}

// noteNames lists every name that note takes.
func noteNames(book *rules.Book) []string {
	out := append([]string{"pump", "recent", "recent-not", "manual", "measured", "taken", rules.SuctionBlock, noteLog, noteInService}, append(slices.Concat(lockWords, jobWords), pumpKeys...)...)
	for _, ids := range [][]string{book.Signs.IDs(), book.Checks.IDs(), book.Causes.IDs(), book.Openings.IDs()} {
		out = append(out, ids...)
	}
	sort.Strings(out)
	return slices.Compact(out)
}
