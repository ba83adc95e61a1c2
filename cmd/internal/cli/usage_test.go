package cli

import (
	"regexp"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/assert"
)

// A slip on the command line is told in our own words: what was read, what is
// expected, what is near, and how the command is written.
func TestSlipsOnTheCommandLine(t *testing.T) {
	for line, want := range map[string]string{
		"triage":                     "telltale: triage needs one case file; none is named\nusage: telltale triage CASE [options]\nmore:  telltale triage --help\n",
		"triage a.yaml b.yaml":       `triage takes one case file, and nothing more; received "a.yaml", "b.yaml"`,
		"note case.yaml":             "note needs a case file and what is to be noted; received only \"case.yaml\"\nusage: telltale note CASE WHAT... [options]\n",
		"ask a b":                    `ask takes one case file, or the folder of a rig, and nothing more; received "a", "b"`,
		"practice now":               `practice takes options alone; received "now"`,
		"sheet":                      "sheet needs one case file, or --blank; none is named\nusage: telltale sheet CASE [options]\n",
		"sheet --blank a.yaml":       `there is no blank form "a.yaml"; expected one of: `,
		"rulebook vet a b":           "vet takes the folder of one local rulebook, and nothing more; received \"a\", \"b\"\nusage: telltale rulebook vet [DIR] [options]\n",
		"triage --jsn a.yaml":        "triage has no option --jsn; expected one of: --all, --full, --help, --json, --many, --markdown, --rulebook, --width; did you mean --json?\nusage: telltale triage CASE [options]\n",
		"triage -json a.yaml":        "triage has no option -j; did you mean --json?\n",
		"note a.yaml knock -1":       "note has no option -1; a word that begins with - stands behind a -- of its own\n",
		"practice --level":           "--level stands without its value; expected a whole number behind it: 1: one common trouble",
		"triage --width wide a":      `--width is "wide"; expected a whole number: columns of the text, 60 to 160`,
		"triage --json=perhaps a":    `--json is "perhaps"; expected nothing, or =true or =false: print everything as JSON`,
		"pump --failure-costs much":  `--failure-costs is "much"; expected a number: how many times`,
		"pump --failure-costs 0 a":   "--failure-costs is 0; expected more than 1: a failure costs more than a planned change",
		"pump --failure-costs NaN a": "--failure-costs is NaN; expected more than 1: a failure costs more than a planned change",
		"triage --=3 a":              `"--=3" is no option; expected --NAME or --NAME=VALUE`,
		"--versoin":                  "telltale has no option --versoin; ",
		"triag":                      `unknown command "triag"; did you mean triage?`,
		"help triag":                 `no help on "triag"; did you mean triage?`,
		"help cse":                   `no help on "cse"; did you mean case?`,
		"help rulebook shw":          `no help on "rulebook shw"; expected one of: prove, show, vet; did you mean show?`,
	} {
		t.Run(line, func(t *testing.T) {
			out, errOut, code := run(t, strings.Fields(line)...)
			assert.Equal(t, exitUsage, code)
			assert.Empty(t, out)
			assert.Contains(t, errOut, want)
		})
	}
}

// No command lets the library speak: its words are those of its authors, not of a rig.
func TestTheLibraryDoesNotSpeak(t *testing.T) {
	raw := regexp.MustCompile(`arg\(s\)|flag|shorthand|strconv|parsing`)
	var each func(path []string, c *cobra.Command)
	each = func(path []string, c *cobra.Command) {
		for _, slip := range [][]string{{"--no-such"}, {"-y"}, {"--width", "x"}, {"--width"}, {"a", "b", "c"}, {"--=1"}} {
			if c.Name() == "study" || c.Name() == "note" || c.HasSubCommands() && slip[0] == "a" {
				continue // any number of words is right there, or a word is a command
			}
			_, errOut, code := run(t, append(append([]string{}, path...), slip...)...)
			assert.Equal(t, exitUsage, code, "%v %v: %s", path, slip, errOut)
			assert.NotRegexp(t, raw, errOut, "%v %v", path, slip)
		}
		for _, sub := range c.Commands() {
			if sub.IsAvailableCommand() && sub.Name() != "help" {
				each(append(append([]string{}, path...), sub.Name()), sub)
			}
		}
	}
	each(nil, newRoot(streams{}))
}

func TestHelpOfACommandAndOfATopic(t *testing.T) {
	for line, want := range map[string]string{
		"help":               "To read, with telltale help TOPIC:\n  telltale case ",
		"help triage":        "Usage:\n  telltale triage CASE [options]\n",
		"help rulebook show": "Usage:\n  telltale rulebook show [ID] [options]\n",
		"help case":          "# The case file",
		"help json":          "# The JSON",
		"case":               "# The case file",
	} {
		out, errOut, code := run(t, strings.Fields(line)...)
		assert.Zero(t, code, errOut)
		assert.Contains(t, out, want, line)
		assert.NotContains(t, strings.ToLower(out), "flags")
	}
}
