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
// of a series the newest 40 readings count. The search is measured in the tests, not proved:
// with 14 readings it misses less than a hundredth of the weight.
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
// if there is none, nothing tells, and Next is nil. Readings that cannot be leant on are to
// be taken again at once.
//
// # How far it can be trusted
//
// How often, of 100 drawn parts, the interval of 0.95 holds the true hour; to repeat:
//
//	TELLTALE_DRAWS=2000 go test ./engine/wear -run TestCoverage -v
//
//	                        none misread          one in 20 misread                 none misread,
//	readings, corrections   noise as said, twice  noise as said, twice, wildly (1)  three times   no end (2)
//	       3            0           100.0   97.2           99.5   96.2        98.7          91.6         77
//	       3            1           100.0  100.0           98.7   96.3        94.7          99.8         96
//	       4            0            99.8   94.8           98.8   94.5        99.4          90.3         61
//	       4            1           100.0   96.4           98.7   95.0        97.9          92.0         81
//	       4            2           100.0  100.0           98.5   95.6        94.2          99.9         96
//	       6            0            97.9   93.5           98.2   94.1        98.2          91.7         40
//	       6            1            99.4   95.0           98.6   94.5        98.4          91.2         55
//	       6            2            99.7   95.1           98.6   94.2        98.1          91.9         69
//	       6            3           100.0   97.8           98.7   96.2        96.8          93.8         81
//	      10            0            96.9   93.7           96.7   93.1        97.4          92.3         20
//	      10            1            97.7   95.4           97.1   94.3        97.2          93.4         31
//	      10            2            98.1   93.8           97.5   94.2        97.5          91.9         39
//	      10            3            98.9   95.2           98.1   93.6        97.2          93.1         45
//	      20            0            95.1   93.7           95.3   94.0        97.5          93.0          6
//	      20            1            95.9   94.4           95.2   93.8        96.9          93.9         10
//	      20            2            96.1   94.4           96.9   95.3        97.1          93.9         13
//	      20            3            95.9   93.9           96.1   94.6        96.0          93.6         18
//
// (1) by 5 to 30 uncertainties, not ten times as doubtful. (2) of 100 intervals, noise as
// said, how many have no last hour: many of the drawn parts hardly wear.
//
// Up to a noise of twice what is said it is 93 or more, and from ten readings on within 93
// and 99. With fewer it is above that where the readings are as
// good as they say: one or two readings more than needed cannot tell noise as said from
// twice, and the interval serves for both. At three times it goes down to 90. Each field
// was drawn 2000 times, so that it is off by half a hundredth.
//
// A fit of 20 readings takes about 0.9 ms of processor time on a busy core of an Intel
// Xeon, one of 12, of which every set is weighed, 1.4 ms: BenchmarkFit.
//
// A sudden change looks like a misread reading until the next one is there: Trend.Look says
// so for the newest, and Trend.Newest is what that reading says alone. A correction that
// was not noted looks like scatter.
package wear
