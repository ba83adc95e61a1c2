// Package wear says how a measured length (the height of a rod in its opening, a clearance
// over a crosshead) wears over the hours of a pump, and when it reaches a limit.
//
// # What it takes for granted
//
// Within one series, the life of the part that wears, the length goes along a straight line
// over the hours. After each correction (shims put in or taken out) it goes on from a level
// of its own with the same rate. Each reading is off by its own uncertainty times one
// unknown factor, the scatter, that is the same for all; and a small share of readings is
// misread, and then ten times as doubtful. A part that runs in fast and then slowly, or
// wears faster and faster, is not on a line: Trend.Scatter and Trend.Look show it only when
// it is plain.
//
// # How it is worked out
//
// Rate and levels have flat priors. For one set of misread readings the fit is weighted
// least squares with a level for each run (line.go), and the figures have Student's
// distribution; the sets are weighed by their likelihood (weigh.go), and every chance is
// the mean over them. Up to 12 readings all sets are weighed, with more those that matter;
// of a series the newest 40 readings count.
//
// Beforehand the scatter is taken as if two readings more than needed had been seen, which
// scattered 1.5 times, in squares, as much as their uncertainties say: a scaled inverse
// chi-square prior. So the interval is wider than the uncertainties alone would have it,
// by Student's distribution, and widens with the scatter found. Two and 1.5 were chosen by
// a table of how often the interval holds the truth (below).
//
// The limit is due at the hour by which the chance that the length is past it comes to
// 0.025, 0.5 and 0.975. For one set this is the interval of Fieller (1954, Some problems in
// interval estimation, J. R. Statist. Soc. B 16, 175; from memory), read from the first
// reading of the run of now on. Where the chance that it wears at all does not settle, the
// last hour is nil: it may never be reached.
//
// The rate is never told below 0, and a length ahead never goes back: parts do not heal.
//
// # When to read again
//
// Before the chance that it is past the limit comes to 1 less the confidence (5 %), and no
// later than when the span of its readings has doubled, which about halves the doubt of the
// rate: the doubt goes with one over the span. The first keeps it from running past its
// limit unseen, the second keeps the first from being so wide that it is of no use. A part
// with too few readings is judged by the rate of the latest part before it that has one;
// if there is none, nothing tells, and Next is nil.
//
// # How far it can be trusted
//
// How often, of 100 drawn parts, the interval of 0.95 holds the true hour; to repeat:
//
//	TELLTALE_DRAWS=1500 go test ./engine/wear -run TestCoverage -v
//
// # TABLE
//
// It is never below 93. With few readings it is well above 95 where the readings are as
// good as they say: one or two readings more than needed cannot tell that, and the interval
// serves for a noise of twice what is said as well. For a noise of three times what is said
// and few readings it holds in 85 to 90 of 100 only.
//
// A sudden change looks like a misread reading until the next one is there: Trend.Look says
// so for the newest, and Trend.Newest is what that reading says alone. A correction that
// was not noted looks like scatter.
package wear
