package interview

import (
	"slices"

	"telltale/evidence"
	"telltale/rules"
)

// Waiting gives the symptoms and the proved causes that make the pump wait, each
// by itself, after a Leave: when it is over, these are what is taken back.
func Waiting(book *rules.Book, k *evidence.Case) (symptoms []string, causes []evidence.At) {
	bare := *k
	bare.Findings, bare.Confirmed = nil, nil
	for _, f := range k.Findings {
		trial := bare
		trial.Findings = []evidence.Finding{f}
		if !slices.Contains(symptoms, f.Symptom) && waits(book, &trial) {
			symptoms = append(symptoms, f.Symptom)
		}
	}
	for _, at := range k.Confirmed {
		trial := bare
		trial.Confirmed = []evidence.At{at}
		if waits(book, &trial) {
			causes = append(causes, at)
		}
	}
	return symptoms, causes
}

func waits(book *rules.Book, k *evidence.Case) bool {
	return slices.ContainsFunc(book.Stops.List, func(s *rules.Stop) bool { return s.LeavePump && s.When.Holds(k, book) })
}
