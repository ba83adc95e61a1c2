package cli

import (
	"fmt"
	"slices"
	"strconv"

	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/evidence/source"
)

// lockWords are what note takes of the locks of the isolation and of what stays
// open.
var lockWords = []string{"lock", "stays-open", "shut"}

// noteInService says that the way back to service was gone to its end.
const noteInService = "back-in-service"

// noteLog begins a line of the log.
const noteLog = "log"

// noteLock reads "on WHAT by NAME ..." or "off WHAT by NAME ..." behind lock,
// and "WHAT by NAME ..." behind stays-open and shut. Without a time it is now.
func noteLock(what string, words []string, now string) ([]record.Edit, error) {
	keys := map[string][]string{"lock on": {"by", "at", "tag", "key"}, "lock off": {"by", "of", "tag", "at"}, "stays-open": {"by", "at"}, "shut": {"by", "at"}}
	form := what
	if what == "lock" {
		if words[0] != "on" && words[0] != "off" {
			return nil, usageError{fmt.Errorf("lock cannot be %q%s", source.Clip(words[0]), source.Expected(words[0], []string{"on", "off"}))}
		}
		form, words = what+" "+words[0], words[1:]
	}
	said, err := pairsOf(form, words, keys[form])
	if err != nil {
		return nil, err
	}
	thing, by, at := words[0], said["by"], said["at"]
	if at == "" {
		at = now
	}
	switch form {
	case "lock on":
		return []record.Edit{record.HangLock(evidence.Lock{On: thing, By: by, At: at, Tag: said["tag"], Key: said["key"]})}, nil
	case "lock off":
		of := said["of"]
		if of == "" {
			of = by // each takes off his own
		}
		return []record.Edit{record.LockOff(thing, of, said["tag"], by, at)}, nil
	case "stays-open":
		return []record.Edit{record.LeaveOpen(evidence.LeftOpen{What: thing, By: by, At: at})}, nil
	}
	return []record.Edit{record.Shut(thing, by, at)}, nil
}

// stillOn says which locks hang and what stays open by a case, each with what writes it
// off.
func stillOn(k *evidence.Case) (out []string) {
	for _, l := range k.HangingLocks() {
		tag := ""
		if l.Tag != "" {
			tag = " tag " + strconv.Quote(l.Tag)
		}
		out = append(out, fmt.Sprintf("the lock of %s hangs on %s; once its owner has taken it off: note CASE lock off %s by %s%s", l.By, l.On, strconv.Quote(l.On), strconv.Quote(l.By), tag))
	}
	for _, o := range k.StillLeftOpen() {
		out = append(out, fmt.Sprintf("%s stands open; once it is shut: note CASE shut %s by NAME", o.What, strconv.Quote(o.What)))
	}
	return out
}

// pairsOf reads a thing and then keys with a word each; by must be one.
func pairsOf(form string, words, keys []string) (map[string]string, error) {
	said := map[string]string{}
	if len(words)%2 == 0 {
		return nil, usageError{fmt.Errorf("%s needs what, and then by NAME; a name of several words goes in quotes", form)}
	}
	for i := 1; i < len(words); i += 2 {
		if !slices.Contains(keys, words[i]) || said[words[i]] != "" {
			return nil, usageError{fmt.Errorf("%s cannot take %q here%s", form, source.Clip(words[i]), source.Expected(words[i], keys))}
		}
		said[words[i]] = words[i+1]
	}
	if words[0] == "" || said["by"] == "" {
		return nil, usageError{fmt.Errorf("%s needs to know who: by NAME", form)}
	}
	return said, nil
}
