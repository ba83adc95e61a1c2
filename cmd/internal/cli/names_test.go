package cli

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// named gives a case with names for its cylinders: plain ones, or the crew's
// with blanks, numbers and the words for an end in them.
type named struct {
	text          string
	plain, blanks []string
	causes        string // with %s for a place
}

// namedCases have a name with a blank wherever a case can have one.
func namedCases() map[string]named {
	return map[string]named{
		"triplex": {`pump: {action: triplex-single-acting, state: isolated, open: [rod-parted: ONE, crosshead-cover-off: [ONE]], cylinders: [ONE, TWO, THREE], liner: 6 1/2 in, stroke: 12 in, speed: 95 strokes/min}
findings:
  wiper-leaks: {again: [TWO], absent: [ONE, THREE]}
  rod-worn: {TWO: underside, absent: others}
checked: {face-feeler: {nothing: [THREE]}}
confirmed: [rod-clamp-misfitted: ONE]
ruled-out: [crosshead-set-high: [TWO]]
measured:
  rod-in-opening:
    ONE: {resolution: 1 thou, rod: parted, crosshead: seated, back: {top: 141 thou, bottom: 118 thou}, middle: {top: 142 thou, bottom: 117 thou}, front: {top: 141 thou, bottom: 118 thou}}
  upper-guide: {ONE: {resolution: 1 thou, rear: 33 thou, middle: 32 thou, front: 32 thou}}
  liner-bore: {THREE: {resolution: 1 thou, new: 6.5 in, stations: [{up-down: 6.519 in, across: 6.506 in}]}}
parts:
  piston: {from: 4000 h, to: 6000 h, expected-life: 700 h, changed-at: {ONE: [4000 h, 4420 h, 4800 h], TWO: [4600 h]}}
`, []string{"alpha", "beta", "gamma"}, []string{"No 1", "A head", "left crank side"}, "piston-worn:"},
		"duplex": {`pump: {action: duplex-double-acting, state: stopped, cylinders: [ONE, TWO]}
findings:
  hiss: {ONE head: suction-stroke}
  packing-fails-early: {present: [TWO]}
confirmed: [suction-valve-cut: ONE head]
parts:
  valve: {from: 4000 h, to: 6000 h, changed-at: {ONE head: [4300 h, 4420 h, 4800 h], TWO crank: [4600 h]}}
`, []string{"alpha", "beta"}, []string{"A head", "left crank side"}, "piston-worn:"},
	}
}

var (
	blanks  = regexp.MustCompile(`[\s-]+`)
	ruled   = regexp.MustCompile(`(?m)^\|[ :|-]+\|$`)
	written = regexp.MustCompile(`Written: [^.]*\.`)
	holder  = []string{"ONE", "TWO", "THREE"}
)

// flat takes away where lines break, how wide columns are and how their heads
// are ruled off.
func flat(text string) string {
	return blanks.ReplaceAllString(ruled.ReplaceAllString(text, ""), " ")
}

// talked is what ask says when the first answer is taken each time.
func talked(file string) string {
	var out, errOut bytes.Buffer
	Main([]string{"ask", file}, strings.NewReader(strings.Repeat("1\n", 20)), &out, &errOut)
	return out.String() + errOut.String()
}

// A cylinder's name is one name, blanks and all: every view of every command is
// the same as with plain names, with one name for the other.
func TestNamesWithBlanksWorkEverywhere(t *testing.T) {
	for what, c := range namedCases() {
		t.Run(what, func(t *testing.T) {
			t.Parallel()
			var toBlanks, fillPlain, fillBlanks []string
			for i, plain := range c.plain {
				toBlanks = append(toBlanks, plain, c.blanks[i], strings.ToUpper(plain), strings.ToUpper(c.blanks[i]), strings.ToUpper(plain[:1])+plain[1:], strings.ToUpper(c.blanks[i][:1])+c.blanks[i][1:])
				fillPlain, fillBlanks = append(fillPlain, holder[i], plain), append(fillBlanks, holder[i], c.blanks[i])
			}
			write := func(dir string, fill []string) string {
				file := filepath.Join(t.TempDir(), "case.yaml")
				require.NoError(t, os.MkdirAll(filepath.Dir(file), 0o755), dir)
				require.NoError(t, os.WriteFile(file, []byte(strings.NewReplacer(fill...).Replace(c.text)), 0o644))
				return file
			}
			plain, crew := write("plain", fillPlain), write("crew", fillBlanks)
			rename := strings.NewReplacer(append(toBlanks, plain, crew)...).Replace
			for _, args := range [][]string{
				{"triage", "--json"}, {"triage", "--all"}, {"triage", "--full", "--markdown"}, {"align", "--json"}, {"align"}, {"align", "--markdown"},
				{"output", "--json"}, {"output", "--markdown"}, {"teardown", "--json"}, {"teardown"}, {"teardown", "--markdown"}, {"sheet", "--markdown"},
				{"teardown", "--cause", c.causes + c.plain[0]}, {"teardown", "--json", "--cause", c.causes + c.plain[0]},
				{"note", "oil-on-rod", "present", c.plain[0]}, {"note", "wiper-look", "nothing", c.plain[1]}, {"note", "wiper-worn-out", "confirmed", c.plain[1]}, {"triage", "--full"},
			} {
				view := func(file string, rename func(string) string) string {
					line := []string{args[0], file}
					for _, a := range args[1:] {
						line = append(line, rename(a))
					}
					sheet := filepath.Join(t.TempDir(), "sheet")
					if args[0] == "sheet" {
						line = append(line, "-o", sheet)
					}
					out, errOut, code := run(t, line...)
					require.Zero(t, code, "%v: %s", line, errOut)
					if args[0] != "sheet" {
						return out
					}
					text, err := os.ReadFile(sheet)
					require.NoError(t, err)
					return written.ReplaceAllString(string(text), "")
				}
				want, got := view(plain, func(s string) string { return s }), view(crew, rename)
				require.NotEmpty(t, want, "%v", args)
				assert.Equal(t, flat(rename(want)), flat(got), "%v", args)
			}
			want, got := talked(plain), talked(crew)
			require.Contains(t, want, c.plain[0])
			assert.Equal(t, flat(rename(want)), flat(got), "ask")
		})
	}
}

// A heading in capitals is a small thing; a name that lost its own is another
// name.
func TestNamesKeepTheirCapitalsInHeadings(t *testing.T) {
	for name, want := range map[string]string{"2": "## Cylinder 2", "No 1": "## No 1 cylinder", "Port A side": "## Port A side cylinder", "left": "## Left cylinder"} {
		t.Run(name, func(t *testing.T) {
			file := filepath.Join(t.TempDir(), "case.yaml")
			text := strings.NewReplacer("ONE", name, "TWO", "mid", "THREE", "aft").Replace(namedCases()["triplex"].text)
			require.NoError(t, os.WriteFile(file, []byte(text), 0o644))
			out, errOut, code := run(t, "align", "--markdown", file)
			require.Zero(t, code, errOut)
			assert.Contains(t, out, want+"\n")
		})
	}
}
