package engine

import (
	"telltale/engine/chances"
	"telltale/evidence"
	"telltale/rules"
)

// What this package says in words of its own; all else that the crew reads
// stands in the rulebook.

// basisLine is printed with every probability.
const basisLine = "Chances rest on the rulebook's judged figures, not on counted failures. They rank; they do not prove."

// Notes on what the answer is not, and on how the case stands.
const (
	pumpWaits      = "The pump waits. Causes, steps and questions are held back until the stop condition is over."
	noFinding      = "No finding was given: the ranking only says how common each cause is."
	nothingIsOpen  = "Nothing is opened while a stop condition says so. Openings, checks with hands in, and closing up are held back."
	saidIsolated   = "The case says that the pump is isolated. Prove it again before hands go in."
	locksOnRunning = "By the case %d lock(s) still hang, yet the pump is said to run. One of the two is wrong: go and see."
	locksByOthers  = "%d lock(s) were taken off by somebody else than their owner. Tell the person in charge of the permit, and the owner."
)

// Notes on what was proved.
const (
	caseClosed     = "This case is closed: what was proved is corrected, and was right when it was looked at again. Start a new case for anything new."
	onlyCloseUp    = "What was proved is corrected, and was right when it was looked at again. What is left is to close up and go back to service."
	keptOut        = "What was proved is corrected, and was right when it was looked at again. A stop condition still keeps the pump out of service."
	lookAtTheRest  = "What was proved is corrected, and was right when it was looked at again. Look at what is still unexplained."
	lookAtRoots    = "What was proved is corrected, and was right when it was looked at again. What may have brought it on is not looked at yet."
	notLooked      = "The steps do not look at: %s. It may have brought on what failed."
	rootsLeft      = "Not looked at yet, and may have brought on what was proved: %s. Look at it before the new part runs. Else the same trouble can come back."
	leftByCrew     = "%s: the crew says that it is put right, and leaves unlooked at what may have brought it on: %s. If it comes back, look there first."
	rootWithChance = "%s, %d %%"
	lookAgain      = "%d cause(s) corrected. Look at each again, then at what is still unexplained."
	correctFirst   = "%d cause(s) confirmed, %d of them corrected. Correct what is left, measure again, then look at what is still unexplained."
)

// recentText says a work that was done lately: "Valves or seats changed (2), after
// the trouble began; it did not help".
func recentText(book *rules.Book, w evidence.Work) string {
	text := chances.Titled(book.Works.Get(w.ID).Title, w.At)
	switch w.Done {
	case evidence.BeforeTrouble:
		text += ", before the trouble began"
	case evidence.AfterTrouble:
		text += ", after the trouble began"
	}
	switch w.Cured {
	case evidence.Yes:
		text += ", and it helped"
	case evidence.No:
		text += ", and it did not help"
	}
	return text
}
