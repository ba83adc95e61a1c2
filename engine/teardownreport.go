package engine

import (
	"telltale/engine/figures"
	"telltale/evidence"
)

// Teardown is a plan to open a pump once: everything of the Report, with its
// steps planned for the causes that are looked for, and what has to be at hand
// before the first bolt is loosened.
type Teardown struct {
	*Report
	// For are the causes that are looked for, likeliest first.
	For []TargetReport `json:"for"`
	// Named: the mechanic named the causes; their chances are then not the
	// ranking's but one for each.
	Named bool         `json:"named"`
	Opens []OpenReport `json:"opens"`
	Times TimesReport  `json:"times"`
	Hands int          `json:"hands"`
	Told  []ToldReport `json:"told"`
	Tools []string     `json:"tools"`
	// RepairTools are those that only the repair takes.
	RepairTools []string `json:"repair_tools"`
	// SiteSteps are the ids of the safety steps for which the site's own
	// isolation procedure has the words: those of the stop and the isolation.
	SiteSteps []string `json:"site_steps"`
	// Spares are the parts from the least chance on; the rest is not worth
	// carrying.
	Spares     []SpareReport `json:"spares"`
	SpareFrom  float64       `json:"spare_from"`
	Consumed   []SpareReport `json:"consumed"` // replaced whenever it was disturbed
	WhileOpen  []ExtraReport `json:"while_open"`
	Worn       []WornReport  `json:"worn"` // parts past their life that are in reach
	Readings   []BlankReport `json:"readings"`
	AskInstead []AskReport   `json:"ask_instead"` // results that the crew does not settle itself
}

// TargetReport is a cause that is looked for.
type TargetReport struct {
	Cause string `json:"cause"`
	evidence.Place
	Title  string  `json:"title"`
	Chance float64 `json:"chance"`
}

// OpenReport is something that is opened, in the order of the list.
type OpenReport struct {
	ID string `json:"id"`
	evidence.Place
	Title   string  `json:"title"`
	Step    int     `json:"step"` // 0: it is open already
	Minutes float64 `json:"minutes"`
	Hands   int     `json:"hands"`
}

// TimesReport is the minutes of the plan. The repair itself is not in it.
type TimesReport struct {
	ToCause  float64 `json:"to_cause_mean"`      // if the list exposes it
	Quickest float64 `json:"to_first_check"`     // end of the first check behind the isolation, or of the first one
	Whole    float64 `json:"whole_list"`         // all checks
	Closing  float64 `json:"closing_and_return"` // closing up and back to service
	// Low and High are the whole job, found at the quickest (only what is open
	// by then is closed) and not found at all, with the rulebook's factors for
	// work that goes well or badly.
	Low  float64 `json:"job_low"`
	High float64 `json:"job_high"`
}

// ToldReport is somebody who must be told.
type ToldReport struct {
	Who string `json:"who"`
	Of  string `json:"of"`
}

// SpareReport is a part with the chance that it is needed.
type SpareReport struct {
	Part   string           `json:"part"`
	Title  string           `json:"title"`
	Chance float64          `json:"chance"` // that a cause which is proved, named or behind a finding takes it
	Places []evidence.Place `json:"places"` // where, likeliest first
	// OpenBesides is what the plan does not open and must be opened to fit it.
	OpenBesides []BesidesReport `json:"open_besides"`
}

// BesidesReport is something that the plan does not open and a part needs
// open.
type BesidesReport struct {
	ID string `json:"id"`
	evidence.Place
	Title   string  `json:"title"`
	Minutes float64 `json:"minutes"` // to open it and to close it
	Hands   int     `json:"hands"`
}

// WornReport is a part past its life by the record that the plan's openings
// already get at.
type WornReport struct {
	Part string `json:"part"`
	evidence.Place
	Title string  `json:"title"`
	Hours float64 `json:"hours"` // that it has run
	Life  float64 `json:"life"`  // hours that it is good for
	By    string  `json:"by"`    // expected-life; median: half of them have failed by then, by the record
}

// ExtraReport is a check that the list does not need and for which nothing
// more is opened.
type ExtraReport struct {
	Check string `json:"check"`
	evidence.Place
	Title    string  `json:"title"`
	Chance   float64 `json:"chance"`    // that it exposes a cause, by the ranking
	Minutes  float64 `json:"minutes"`   // now
	ComeBack float64 `json:"come_back"` // minutes of isolating, opening, closing and returning for it alone
	// Pays: Chance times ComeBack is more than Minutes.
	Pays  bool     `json:"pays"`
	Looks []string `json:"looks_for"`
}

// BlankReport is a reading to write down.
type BlankReport struct {
	Step  int    `json:"step"` // the step at which it is taken
	Check string `json:"check"`
	evidence.Place
	Title  string   `json:"title"`
	What   string   `json:"what"`
	Limits []string `json:"limits"`
	// Gauges are what the reading can be taken with.
	Gauges []figures.Gauge `json:"gauges"`
}

// AskReport is a result that the crew does not settle itself.
type AskReport struct {
	If  string `json:"if"`
	Ask string `json:"ask"`
}
