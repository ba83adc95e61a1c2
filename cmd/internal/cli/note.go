package cli

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"sort"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/pages"
	"telltale/cmd/internal/words"
	"telltale/engine"
	"telltale/engine/chances"
	"telltale/engine/hear"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/evidence/source"
	"telltale/rules"
)

// noteOptions are the flags of note.
type noteOptions struct {
	book  *bookOption
	file  string
	words []string
	by    string
}

func newNote(s streams, book *bookOption) *cobra.Command {
	o := noteOptions{book: book}
	cmd := &cobra.Command{
		Use:   "note CASE WHAT...",
		Short: "Write one thing into a case: a finding, a reading, a result, how the pump stands",
		Long: `Writes one thing into a case file, for use without the conversation. WHAT is one of

  SIGN present|absent|unknown|KIND|clear [PLACE...]
  CHECK nothing|unclear|clear [PLACE...]
  CAUSE confirmed|ruled-out|corrected|looked-again|root-left|clear [PLACE]
  OPENING open|closed [PLACE...]
  recent WORK                     recent-not WORK
  recent WORK before-trouble|after-trouble|cured|not-cured
                                  when a work was done, and whether it helped
  state running|stopped|isolated  and name, rotation, liner, stroke, piston-rod,
                                  connecting-rod, speed, discharge
  manual LIMIT FIGURE             FIGURE "" takes it out
  taken at-last-stop|while-running|clear [NAME...]
                                  when a sign, check or block of readings that needs
                                  covers off was taken; without a name all of them
  measured KEY... READING         the keys as in the case file, "2" for a cylinder
  measured KEY... KEY=READING...  several at once: resolution="1 thou" back.top="141 thou"
  suction-line KEY=READING...     the same of the suction line; in a list by its number:
                                  stations.1.across="6.5 in", pipes.2.length="20 ft"
  log WORDS by NAME [at TIME]     a line of the log
  lock on WHAT by NAME [at TIME] [tag TAG] [key WHERE]      who hung his lock on what
  lock off WHAT by NAME [of OWNER] [tag TAG] [at TIME]      who took it off
  stays-open WHAT by NAME [at TIME]                         a bleed or valve left open
  shut WHAT by NAME [at TIME]                               and shut again
  changed PART PLACE... [still-good]         on a job of a rig: put in new, the old one worn or not
  shims CYLINDER put-in|taken-out THICKNESS  under its lower guide; two: rear and front
  hours READING                   what the meter showed
  date YEAR-MONTH-DAY             of the job
  upkeep-done NAME PLACE...       a look that fell due after a repair
  closed [DATE]                   open-again
                                  closes the job, refused while anything stands against it
  pump triplex-single-acting|duplex-double-acting running|stopped|isolated
                                  starts a new file
  words of your own               what was seen, as you would tell it: what is well
                                  understood is written, the rest is said

corrected is refused while nobody looked at what may have brought the cause on;
root-left is the crew's yes to leaving that unlooked at, and comes before it.
A sign without a place is said of the whole pump. Stop conditions that hold then
are read out first. Names are those of the
rulebook: telltale rulebook show.`,
		Example: `  telltale note case.yaml wiper-leaks again 2
  telltale note case.yaml "wiper on 2 leaks again, 1 and 3 are dry"
  telltale note case.yaml face-feeler nothing 2
  telltale note jobs/2026-03-04-pump-2-wiper.yaml changed wiper-set 2
  telltale note case.yaml lock on "drive breaker" by "A. Hand" tag 14
  telltale note case.yaml measured upper-guide 2 resolution="1 thou" rear="33 thou" front="32 thou"`,
		Args: takes(2, -1, "a case file and what is to be noted"),
		ValidArgsFunction: func(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
			return completeNote(book, args)
		},
		RunE: func(_ *cobra.Command, args []string) error {
			o.file, o.words = args[0], args[1:]
			return runNote(s, o)
		},
	}
	cmd.Flags().StringVar(&o.by, "by", "", "who says so; adds a line with the time to the log")
	return cmd
}

func runNote(s streams, o noteOptions) error {
	book, err := o.book.loadFor(o.file)
	if err != nil {
		return err
	}
	for tries := mostTries; ; tries-- {
		n, err := writeNote(book, o)
		var changed *record.ChangedError
		if errors.As(err, &changed) && tries > 0 {
			continue // somebody wrote at the same moment: noted in what he wrote
		}
		if err != nil {
			return err
		}
		if err := n.readStops(s, book); err != nil {
			return fileError{err}
		}
		for _, line := range n.lines {
			if _, err := fmt.Fprintf(s.out, "%s: %s\n", doc.Shown(o.file), doc.Shown(line)); err != nil {
				return fileError{err}
			}
		}
		return nil
	}
}

// mostTries is how often a note is tried again when somebody else writes.
const mostTries = 20

// note is what is noted: the edits, what is said to them, what a story may mean
// besides and is not written, and the case after it.
type note struct {
	edits  []record.Edit
	lines  []string
	unsure []hear.Heard
	ifSo   []chances.Stop // the stop conditions that these raise if they are so
	then   *evidence.Case
}

// readStops reads out, before all else, the stop conditions of the case as it is
// now; where none holds but the verdict is to stop now, that verdict; and the stop
// conditions that hold if what was not written is so.
func (n *note) readStops(s streams, book *rules.Book) error {
	report, _ := engine.Measure(book, n.then) // with an error too it has the stop conditions
	page := pages.StopsOfNote(report, n.ifSo)
	if len(page.Sections) == 0 {
		return nil
	}
	return page.Text(s.out, width(s.out, 0))
}

// writeNote notes it in the case as it is now.
func writeNote(book *rules.Book, o noteOptions) (*note, error) {
	file, err := record.OpenCase("", o.file, book.Vocabulary(), o.words[0] == "pump")
	if err != nil {
		return nil, err
	}
	k, err := file.Case()
	if err != nil {
		return nil, err
	}
	said := strings.Join(o.words, " ")
	var again []evidence.At
	n, told := &note{lines: []string{said}}, isTold(book, o.words)
	if told {
		n, err = toldNote(book, k, o)
	} else if n.edits, err = noteEdits(book, k, o.words); err == nil {
		again = seenAgain(book, k, o.words)
	}
	if err != nil {
		return nil, err
	}
	for _, at := range again {
		n.edits = append(n.edits, record.Uncorrected(at.ID, at.Place))
	}
	if o.by != "" && !told {
		n.edits = append(n.edits, record.AddLog(evidence.LogEntry{At: time.Now().UTC().Format(time.RFC3339), By: o.by, Did: "noted: " + said}))
	}
	if _, then, err := record.Apply(file.Name(), file.Text(), file.Words(), n.edits...); err == nil {
		if err := chances.Accepts(book, k, then); err != nil {
			return nil, usageError{fmt.Errorf("%s: refused, nothing was written: %w", said, err)}
		}
		if why := rootUnlooked(book, k, then); why != "" {
			return nil, usageError{fmt.Errorf("%s: refused, nothing was written: %s", said, why)}
		}
	}
	n.then, err = file.Write(n.edits...)
	var refused *record.RefusedError
	if errors.As(err, &refused) {
		return nil, usageError{fmt.Errorf("%s: %w", said, refused)}
	}
	if err != nil {
		return nil, err
	}
	for _, at := range again {
		n.lines = append(n.lines, "seen again: "+words.Titled(book.Causes.Get(at.ID).Title, at.Place)+" counts as corrected no more")
	}
	n.lines = append(n.lines, noted(book, k, n.then)...)
	n.lines = append(n.lines, closedNow(book, k, n.then, file)...)
	n.ifSo = stopsIfSo(book, file, n)
	return n, nil
}

// rootUnlooked says why something cannot count as corrected yet: nobody looked at
// what may have brought it on, and the crew does not say yes to that. Empty if it can.
func rootUnlooked(book *rules.Book, before, after *evidence.Case) string {
	if before == nil || len(after.Corrected) <= len(before.Corrected) {
		return ""
	}
	r, err := engine.Diagnose(book.WithoutFirmness(), after)
	if err != nil {
		return "" // what cannot be weighed names no root
	}
	for _, c := range r.Confirmed {
		if c.Corrected && !c.RootLeft && len(c.RootsLeft) > 0 && !chances.Among(before.Corrected, c.Cause, c.Place) {
			yes := strings.TrimSpace("root-left " + c.Place.String())
			return words.Unlooked(words.Titled(c.Title, c.Place), c.RootsLeft) + " Look there first. Or, if the crew says yes to leaving it, note before it: " + c.Cause + " " + yes
		}
	}
	return ""
}

// seenAgain gives what was corrected and right when it was looked at again, and
// shows the sign that is noted as there.
func seenAgain(book *rules.Book, k *evidence.Case, words []string) []evidence.At {
	s := book.Signs.Get(words[0])
	if k == nil || s == nil || words[1] != "present" && !slices.Contains(s.KindIDs(), words[1]) {
		return nil
	}
	kind := words[1]
	if kind == "present" {
		kind = ""
	}
	var places []evidence.Place
	for _, text := range words[2:] {
		if p, _, ok := k.Pump.Find(text); ok {
			places = append(places, p)
		}
	}
	return chances.SeenAgain(book, k, s.ID, kind, places)
}

// noted says what a note brought with it that the crew must settle: something
// that needs covers off on a running pump, or two words that do not go together.
func noted(book *rules.Book, before, after *evidence.Case) []string {
	old, oldBeside := map[string]bool{}, []string{}
	if before != nil {
		oldBeside = book.TakenBeside(before)
		for _, c := range chances.Contradictions(book, before) {
			old[words.Contradiction(c)] = true
		}
	}
	var out []string
	for _, name := range book.TakenBeside(after) {
		if slices.Contains(oldBeside, name) {
			continue
		}
		if after.TakenAt(name) == evidence.WhileRunning {
			out = append(out, "DANGER: "+name+" was taken beside moving parts. It is not used. Take it again at a stop, behind the isolation.")
			continue
		}
		out = append(out, "DANGER: the pump runs, and "+name+" needs covers off. It is not used until the case says when it was taken: note CASE taken at-last-stop "+name+", or taken while-running "+name)
	}
	for _, c := range chances.Contradictions(book, after) {
		if text := words.Contradiction(c); !old[text] {
			out = append(out, "does not fit together: "+text+" Take the other out with clear")
		}
	}
	return out
}

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
		return noteLock(what, rest, time.Now().UTC().Format(time.RFC3339))
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
	case what == noteLog:
		return noteLogged(rest, time.Now().UTC().Format(time.RFC3339))
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
		out["ruled-out"] = one(func(p ...evidence.Place) record.Edit { return record.RuleOut(id, p...) })
		out["corrected"] = one(func(p ...evidence.Place) record.Edit { return record.Corrected(id, p...) })
		out["looked-again"] = one(func(p ...evidence.Place) record.Edit { return record.LookedAgain(id, p...) })
		out["root-left"] = one(func(p ...evidence.Place) record.Edit { return record.LeaveRoot(id, p...) })
		back = append(back, func(p ...evidence.Place) []record.Edit {
			return []record.Edit{record.Unconfirm(id, p...), record.Unrule(id, p...)}
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
	out := append([]string{"pump", "recent", "recent-not", "manual", "measured", "taken", rules.SuctionBlock, noteLog}, append(slices.Concat(lockWords, jobWords), pumpKeys...)...)
	for _, ids := range [][]string{book.Signs.IDs(), book.Checks.IDs(), book.Causes.IDs(), book.Openings.IDs()} {
		out = append(out, ids...)
	}
	sort.Strings(out)
	return slices.Compact(out)
}

// completeNote offers the words that can come next on a command line.
func completeNote(o *bookOption, args []string) ([]string, cobra.ShellCompDirective) {
	book, err := o.load()
	switch {
	case err != nil || len(args) == 0:
		return []string{"yaml"}, cobra.ShellCompDirectiveFilterFileExt
	case len(args) == 1:
		return noteNames(book), cobra.ShellCompDirectiveNoFileComp
	}
	switch args[1] {
	case "lock":
		return []string{"on", "off"}, cobra.ShellCompDirectiveNoFileComp
	case "state":
		return evidence.PumpStates(), cobra.ShellCompDirectiveNoFileComp
	case "rotation":
		return evidence.Rotations(), cobra.ShellCompDirectiveNoFileComp
	case "pump":
		return append(evidence.Actions(), evidence.PumpStates()...), cobra.ShellCompDirectiveNoFileComp
	case "recent", "recent-not":
		return book.Works.IDs(), cobra.ShellCompDirectiveNoFileComp
	case "manual":
		return book.Limits.IDs(), cobra.ShellCompDirectiveNoFileComp
	case "taken":
		return append(evidence.TakenTimes(), "clear"), cobra.ShellCompDirectiveNoFileComp
	case noteChanged:
		return book.Parts.IDs(), cobra.ShellCompDirectiveNoFileComp
	case noteUpkeep:
		return book.Upkeep.IDs(), cobra.ShellCompDirectiveNoFileComp
	}
	if len(args) == 2 {
		return keys(answersOf(book, args[1])), cobra.ShellCompDirectiveNoFileComp
	}
	return nil, cobra.ShellCompDirectiveNoFileComp
}
