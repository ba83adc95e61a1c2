package cli

import (
	"html"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/evidence/source"
	"telltale/rules"
)

// formNames are the blank forms of the built-in book.
func formNames(t *testing.T) (out []string) {
	t.Helper()
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	for _, f := range book.Forms.List {
		out = append(out, f.ID)
	}
	return out
}

// What stands on a printed form, read from the page itself.
var (
	formRow   = regexp.MustCompile(`(?s)<tr>(<td.*?)</tr>`)
	formCell  = regexp.MustCompile(`(?s)<td[^>]*>(.*?)</td>`)
	formTyped = regexp.MustCompile(`<span class="typed">([^<]*)</span>`)
	formKey   = regexp.MustCompile(`([a-z][a-z0-9.-]*)=`)
	formKind  = regexp.MustCompile(`(?s)<span class="kind">.*?<span class="typed">([^<]*)</span> <span class="marks">(.*?)</span></span>(?:<span class="kind"|</td>|$)`)
	formBox   = regexp.MustCompile(`</span>([^<]*)</span>`)
	formTag   = regexp.MustCompile(`<[^>]*>`)
)

// invented is an invented figure or word for a key of the readings of a block at a
// place: worn at the first, where the signs that are ticked say so.
func invented(block, at, key string) string {
	last := key[strings.LastIndex(key, ".")+1:]
	switch {
	case strings.HasPrefix(key, "stations."):
		switch {
		case at != "1" && at != "left":
			return "6 in"
		case block == "liner-bore":
			return "6.05 in"
		case last == "up-down":
			return "5.9 in"
		}
		return "5.88 in"
	case strings.HasPrefix(key, "pipes."):
		return map[string]string{"length": "20 ft", "bore": "10 in"}[last]
	}
	figure, known := map[string]string{
		"resolution": "1 thou", "each-reading-is": "nearest", "with": "feelers, \"new\"", "rod": "parted", "crosshead": "seated", "new": "6 in",
		"strokes": "510", "strokes-within": "1", "volume": "40.5 bbl", "volume-within": "0.5 bbl",
		"discharge": "2800 psi", "speed": "95 strokes/min", "charge-pressure": "60 psi", "load": "410", "drive-setting": "same", "mud": "mud-drilling-rate",
		"mud-weight": "12 lb/gal", "mud-above-pump": "4 ft", "friction-head": "1 ft", "head-needed": "10 ft",
		"at": "28 in", "slope": "0.6 thou/ft", "within": "0.2 thou/ft", "rises-toward": "crank-end",
		"opening": "4 in", "rod-diameter": "3.5 in", "centre-guide": "true",
	}[last]
	switch {
	case strings.HasPrefix(key, "now."):
		return map[string]string{"discharge": "1500 psi", "speed": "70 strokes/min", "charge-pressure": "30 psi", "load": "350"}[last]
	case strings.HasPrefix(key, "guide-supports."):
		return "9 in"
	case key == "second-plane.at":
		return "40 in"
	case key == "mud-below-pump": // one of the two is left empty
		return ""
	case !known:
		return "20 thou"
	}
	return figure
}

// A form that is filled in is typed back line by line with the words that stand on it,
// in their order, into a new job; the job then says what was ticked and written. All
// figures and names here are invented.
func TestFormsAreTypedBack(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	for pump, action := range map[string]string{"triplex": "triplex-single-acting", "duplex": "duplex-double-acting"} {
		for _, form := range book.Forms.List {
			t.Run(pump+", "+form.ID, func(t *testing.T) {
				rig := t.TempDir()
				job := filepath.Join(rig, "jobs", "job.yaml")
				for name, text := range map[string]string{
					filepath.Join(rig, "pumps", "pump-9.yaml"): "pump: {name: Pump 9, action: " + action + ", liner: 6 in, stroke: 12 in, piston-rod: 2.5 in}\n",
					job: "job: {pump: pump-9, date: 2026-03-01}\npump: {state: isolated}\n",
				} {
					require.NoError(t, os.MkdirAll(filepath.Dir(name), 0o755))
					require.NoError(t, os.WriteFile(name, []byte(strings.Replace(text, ", piston-rod: 2.5 in", map[string]string{"duplex": ", piston-rod: 2.5 in"}[pump], 1)), 0o600))
				}
				note := func(words ...string) {
					t.Helper()
					_, errOut, code := run(t, append([]string{"note", job}, words...)...)
					require.Zero(t, code, "%v: %s", words, errOut)
				}
				page, errOut, code := run(t, "sheet", "--blank", form.ID, "--pump", pump, "-o", "-")
				require.Zero(t, code, errOut)

				// the head
				for _, said := range []string{"(date)", "(hours)", "(state)", `(log "` + form.Title + `" by)`, "(at)"} {
					require.Contains(t, html.UnescapeString(page), said)
				}
				note("date", "2026-03-04")
				note("hours", "412 h")
				note("state", "isolated")
				note("log", form.Title, "by", "A. Hand", "at", "2026-03-04 06:10")

				if form.Asks[0].Asides { // it stands behind another form, which is typed in first
					for _, c := range evidence.DefaultCylinders(evidence.Action(action)) {
						note("measured", "rod-in-opening", c, "resolution=1 thou", "back.top=20 thou", "back.bottom=20 thou")
					}
				}
				meant := map[string]string{"job.date": "2026-03-04", "job.hours": "412 h"}
				present, absent := map[string]string{}, map[string][]string{} // of signs: kind and place; places
				nothing, changed, hung, open, logged := map[string]string{}, map[string]string{}, 0, 0, 1
				for _, row := range formRow.FindAllStringSubmatch(page, -1) {
					typed := formTyped.FindStringSubmatch(row[1])
					if typed == nil {
						continue
					}
					cells := formCell.FindAllStringSubmatch(row[1], -1)
					words := fields(html.UnescapeString(typed[1]))
					switch {
					case words[0] == "measured", words[0] == "suction-line":
						var root, line []string
						for _, w := range words {
							if !strings.HasSuffix(w, "=") {
								root = append(root, w)
							}
						}
						text := html.UnescapeString(formTag.ReplaceAllString(strings.Replace(cells[0][1], typed[0], "", 1), " "))
						taken := formKey.FindAllStringSubmatch(strings.Join(words, " "), -1)
						for _, key := range append(taken, formKey.FindAllStringSubmatch(text, -1)...) {
							if figure := invented(words[min(1, len(words)-1)], words[min(2, len(words)-1)], key[1]); figure != "" {
								line = append(line, key[1]+"="+figure)
								meant[strings.Join(append(root, key[1]), ".")] = figure
							}
						}
						note(append(root, line...)...)
					case words[0] == "shims":
						note(words[0], words[1], "put-in", "12 thou", "10 thou", "taken-out", "5 thou")
						changed["shims"] += words[1]
					case words[0] == "manual":
						for _, c := range cells {
							if limit := formTyped.FindStringSubmatch(c[1]); limit != nil {
								id := strings.TrimPrefix(limit[1], "manual ")
								figure := map[evidence.Dimension]string{evidence.Length: "20 thou", evidence.Pressure: "400 psi", evidence.Torque: "260 ft lbf"}[book.Limits.Get(id).Dimension]
								note("manual", id, figure)
								meant["manual."+id] = figure
							}
						}
					case words[0] == "log":
						note("log", strings.TrimSuffix(words[1], "...")+"seen", "by", "A. Hand", "at", "06:20")
						logged++
					case words[0] == "lock":
						if words = words[2:]; len(words) == 0 {
							words = []string{"mud bucket valve"}
						}
						note("lock", "on", words[0], "by", "A. Hand", "at", "06:10", "tag", "14", "key", "box")
						note("lock", "off", words[0], "by", "A. Hand", "at", "11:50")
						hung++
					case words[0] == "stays-open":
						if words = words[1:]; len(words) == 0 {
							words = []string{"strainer drain"}
						}
						note("stays-open", words[0], "by", "A. Hand", "at", "06:10")
						note("shut", words[0], "by", "A. Hand", "at", "11:50")
						open++
					case words[0] == "recent":
						note("recent", words[1])
						note("recent", words[1], boxesIn(cells[2][1])[3])
						changed["recent"] += words[1] + " "
					case words[0] == "changed":
						places := boxesIn(cells[1][1])
						note(append(words, nonEmpty(places[:1])...)...)
						if len(places) > 1 {
							note(append(words, boxesIn(cells[2][1])[1], "still-good")...)
						}
						changed[words[1]] = places[0]
					case book.Signs.Get(words[0]) != nil && strings.Contains(row[1], `class="kinds"`):
						kinds := formKind.FindAllStringSubmatch(cells[1][1], -1)
						require.NotEmpty(t, kinds, row[1])
						last := kinds[len(kinds)-1]
						places := boxesIn(last[2])
						if words[0] == "pressure-high" {
							note(words[0], "absent")
							absent[words[0]] = []string{""}
							continue
						}
						note(append([]string{words[0], last[1]}, nonEmpty(places[:1])...)...)
						present[words[0]] = last[1] + " " + places[0]
						if len(places) > 1 {
							note(append([]string{words[0], "absent"}, boxesIn(cells[2][1])[1:]...)...)
							absent[words[0]] = places[1:]
						}
					default:
						require.NotNil(t, book.Checks.Get(words[0]), words[0])
						places := boxesIn(cells[1][1])
						note(append([]string{words[0], "nothing"}, nonEmpty(places[len(places)-1:])...)...)
						nothing[words[0]] = places[len(places)-1]
					}
				}

				text, err := os.ReadFile(job)
				require.NoError(t, err)
				d, err := source.NewEditor(job, text)
				require.NoError(t, err)
				for path, figure := range meant {
					n := d.Get(strings.Split(path, ".")...)
					if at := strings.Index(path, "stations."); at >= 0 {
						n = lineOf(d, path, "stations")
					} else if strings.Contains(path, "pipes.") {
						n = lineOf(d, path, "pipes")
					}
					if assert.NotNil(t, n, path) {
						assert.Equal(t, figure, n.Text, path)
					}
				}
				file, err := record.OpenCase("", job, book.Vocabulary(), false)
				require.NoError(t, err)
				k, err := file.Case()
				require.NoError(t, err)
				said := map[string]bool{}
				for _, f := range k.Findings {
					said[strings.Join([]string{f.Sign, string(f.Answer), f.Kind, f.At.String()}, " ")] = true
				}
				for sign, want := range present {
					kind, place, _ := strings.Cut(want, " ")
					if kind == "present" {
						kind = ""
					}
					assert.True(t, said[strings.Join([]string{sign, "present", kind, place}, " ")], "%s %s in %v", sign, want, said)
				}
				for sign, places := range absent {
					for _, place := range places {
						assert.True(t, said[strings.Join([]string{sign, "absent", "", place}, " ")], "%s absent %s in %v", sign, place, said)
					}
				}
				for check, place := range nothing {
					found := false
					for _, at := range k.Cleared {
						found = found || at.ID == check && at.Place.String() == place
					}
					assert.True(t, found, "%s nothing %s", check, place)
				}
				for part, place := range changed {
					found := part == "shims" && len(k.Shims) == len(k.Pump.Cylinders) || part == "recent" && len(k.Recent) == len(strings.Fields(place))
					for _, c := range k.Changed {
						found = found || c.Part == part && c.Place.String() == place && !c.StillGood
					}
					assert.True(t, found, "%s %s", part, place)
				}
				assert.Len(t, k.Log, logged)
				assert.Equal(t, "A. Hand", k.Log[0].By)
				assert.Equal(t, "2026-03-04 06:10", k.Log[0].At)
				assert.Len(t, k.Locks, hung)
				assert.Len(t, k.StaysOpen, open)
			})
		}
	}
}

// fields cuts words apart as a shell does, as far as forms need it.
func fields(line string) (out []string) {
	for _, w := range regexp.MustCompile(`"([^"]*)"|(\S+)`).FindAllStringSubmatch(line, -1) {
		out = append(out, w[1]+w[2])
	}
	return out
}

// boxesIn are the words behind the boxes of a cell.
func boxesIn(cell string) (out []string) {
	for _, b := range formBox.FindAllStringSubmatch(cell, -1) {
		out = append(out, html.UnescapeString(b[1]))
	}
	return out
}

func nonEmpty(words []string) (out []string) {
	for _, w := range words {
		if w != "" {
			out = append(out, w)
		}
	}
	return out
}

// lineOf is a value in a line of a list.
func lineOf(d *source.Editor, path, list string) *source.Node {
	before, after, _ := strings.Cut(path, list+".")
	n := d.Get(append(strings.Split(strings.TrimSuffix(before, "."), "."), list)...)
	number, key, _ := strings.Cut(after, ".")
	if n == nil || number == "" || int(number[0]-'1') >= len(n.Items) {
		return nil
	}
	return n.Items[number[0]-'1'].Value(key)
}
