package cli

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"telltale/cmd/internal/dialogue"
	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/pages"
	"telltale/cmd/internal/words"
	"telltale/engine"
	"telltale/engine/chances"
	"telltale/engine/hear"
	"telltale/evidence"
	"telltale/evidence/record"
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
  CAUSE confirmed|judged|ruled-out|corrected|looked-again|root-left|clear [PLACE]
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
  back-in-service by NAME         each step back to service was done, says NAME
  changed PART PLACE... [still-good]         on a job of a rig: put in new, the old one worn or not
  shims CYLINDER put-in|taken-out THICKNESS  under its lower guide; two: rear and front
  hours READING                   what the meter showed
  date YEAR-MONTH-DAY             of the job
  upkeep-done NAME PLACE...       a look that fell due after a repair
  closed [DATE] [found WORDS]     open-again
                                  closes the job, refused while anything stands against it;
                                  what was found, in the crew's own words
  pump triplex-single-acting|duplex-double-acting running|stopped|isolated
                                  starts a new file
  words of your own               what was seen, as you would tell it: what is well
                                  understood is written, the rest is said

corrected is refused while nobody looked at what may have brought the cause on;
root-left is the crew's yes to leaving that unlooked at, and comes before it.
judged is what the crew takes for the cause where no look proved it; not weighed.
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
		if err != nil && n == nil {
			n = unwritten(book, o)
		}
		if err != nil && n == nil {
			return err
		}
		if err := n.readStops(s, book); err != nil {
			return fileError{err}
		}
		if err != nil {
			return err
		}
		n.lines = append(n.lines, n.next(book, o.file)...)
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

// next is what comes next; nothing over a job that is closed.
func (n *note) next(book *rules.Book, file string) []string {
	switch {
	case n.then.Job.IsClosed() && n.then.LeftStanding():
		return []string{"next: " + pages.ClosedTooSoon(book, n.then) + " Open it again: telltale note " + file + " " + noteOpenAgain}
	case n.then.Job.IsClosed():
		return nil
	}
	report, err := engine.Diagnose(book.WithoutFirmness(), n.then)
	if err != nil && len(report.Stop) == 0 {
		return []string{"next: telltale triage " + file}
	}
	return []string{"next: " + pages.NextOfNote(report, len(n.ifSo) > 0, file)}
}

// unwritten is what could not be noted, where it tells of a danger: that is read out all
// the same. It is told over the case as it is, or, where that does not read or does not
// take it, over a pump of which nobody knows more. nil: it tells of none.
func unwritten(book *rules.Book, o noteOptions) *note {
	alone := book.Vocabulary()
	over := func(name string, text []byte, words evidence.Vocabulary) *note {
		k, err := record.Read(name, text, words)
		if err != nil || k == nil {
			return nil
		}
		n := &note{}
		if isTold(book, k, o.words) {
			n, err = toldNote(book, k, name, text, o)
		} else {
			n.edits, err = noteEdits(book, k, o.words)
		}
		if err != nil {
			return nil
		}
		if _, n.then, err = record.Apply(name, text, words, n.edits...); err != nil {
			return nil
		}
		n.ifSo = dialogue.StopsIfSo(book, n.then, name, text, n.meant())
		was, _ := engine.Stands(book, k)
		now, _ := engine.Stands(book, n.then)
		raised := slices.ContainsFunc(now.Stop, func(s chances.Stop) bool {
			return !slices.ContainsFunc(was.Stop, func(old chances.Stop) bool { return old.ID == s.ID })
		})
		if !raised && len(n.ifSo) == 0 {
			return nil
		}
		return n
	}
	if file, err := record.OpenCase("", o.file, alone, false); err == nil {
		if n := over(file.Name(), file.Text(), file.Words()); n != nil {
			return n
		}
	}
	for _, action := range evidence.Actions() {
		text, _, err := record.Apply(o.file, nil, alone, record.SetPump("action", action), record.SetPump("state", string(evidence.Running)))
		if err != nil {
			continue
		}
		if n := over(o.file, text, alone); n != nil {
			return n
		}
	}
	return nil
}

// writeNote notes it in the case as it is now. With an error there may be a note all the
// same, whose stop conditions are read out.
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
	n, told := &note{lines: []string{said}}, isTold(book, k, o.words)
	if told {
		n, err = toldNote(book, k, file.Name(), file.Text(), o)
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
		n.edits = append(n.edits, record.AddLog(evidence.LogEntry{At: evidence.Stamp(time.Now()), By: o.by, Did: "noted: " + said}))
	}
	_, then, unfit := record.Apply(file.Name(), file.Text(), file.Words(), n.edits...)
	if unfit == nil {
		if err := chances.Accepts(book, k, then); err != nil {
			return nil, usageError{fmt.Errorf("%s: refused, nothing was written: %w", said, err)}
		}
		if k != nil && k.Job.IsClosed() && then.Job.IsClosed() && len(then.Findings) > len(k.Findings) {
			n.then = then
			n.ifSo = stopsIfSo(book, file, n)
			return n, usageError{fmt.Errorf("%s: refused, nothing was written: this job was closed on %s, nobody looks for it there. First: note JOB %s; of a new trouble begin a new job: telltale ask", said, k.Job.Closed.Format(evidence.DateForm), noteOpenAgain)}
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
	if err != nil && unfit == nil { // it cannot be written, and is so all the same
		n.then = then
		n.ifSo = stopsIfSo(book, file, n)
		return n, err
	}
	if err != nil {
		return nil, err
	}
	for _, at := range again {
		n.lines = append(n.lines, "seen again: "+words.Titled(book.Causes.Get(at.ID).Title, at.Place)+" counts as corrected no more")
	}
	n.lines = append(n.lines, noted(book, k, n.then)...)
	if n.then.Pump.State == evidence.Running && (k == nil || k.Pump.State != evidence.Running) {
		for _, owed := range pages.Owed(book, n.then) {
			n.lines = append(n.lines, owed+"; once each is done: note CASE "+noteInService+" by NAME")
		}
	}
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
