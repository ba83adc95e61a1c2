// Package pages composes each report once, as a Document: what it says, in which
// order, under which heading. Package doc writes it as text, Markdown and HTML.
// It computes nothing; what it shows stands in what it is given.
//
// A file a page: triage.go, glance.go (the short one), teardown.go, jobsheet.go (with handover.go),
// blanksheet.go, output.go, align.go, rulebook.go, study.go, practice.go. What
// several pages show: head.go (the pump, stops, locks, what was proved),
// haste.go, ratings.go, steps.go, measured.go, centring.go and shims.go (a rod in
// its opening), pictures.go.
package pages
