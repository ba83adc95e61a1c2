package cli

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/inconshreveable/mousetrap"
	"github.com/spf13/cobra"

	"telltale/cmd/internal/doc"
	"telltale/engine/chances"
	"telltale/engine/noisyor"
	"telltale/evidence/source"
)

// The exit codes; the README documents them.
const (
	exitDone       = 0
	exitBadInput   = 1 // a case file or rulebook has mistakes
	exitUsage      = 2 // the command line is wrong
	exitImpossible = 3 // the rulebook holds the findings to be impossible together
	exitTooWide    = 4 // too much at once to be computed exactly
	exitFile       = 5 // a file cannot be read or written
)

// streams is where a command reads and writes.
type streams struct {
	in       io.Reader
	out, err io.Writer
	clicked  bool // by a double click: the window goes when the program ends
}

// usageError is a mistake on the command line.
type usageError struct{ error }

// fileError is a file that cannot be read or written.
type fileError struct{ error }

// Main runs one command line and gives the exit code. A double click on the program
// in Windows serves the folder in which it lies.
func Main(args []string, in io.Reader, out, errOut io.Writer) int {
	s := streams{in: in, out: out, err: errOut}
	if len(args) == 0 && mousetrap.StartedByExplorer() {
		s.clicked = true
		args = []string{"serve", ownFolder()}
	}
	return start(args, s)
}

func init() { cobra.MousetrapHelpText = "" } // or a double click would be sent away

// start runs one command line. A window that would go with the program stays until
// what went wrong was read.
func start(args []string, s streams) int {
	out, errOut := s.out, s.err
	root := newRoot(s)
	var help bytes.Buffer
	root.SetOut(&help)
	root.SetArgs(append([]string{}, args...))
	cmd, err := root.ExecuteC()
	if err == nil && help.Len() > 0 {
		if err = paged(out, help.Bytes()); err != nil {
			err = fileError{err}
		}
	}
	if err != nil {
		tell(errOut, cmd, args, err)
		s.stay()
	}
	return exitCode(err)
}

// tell says what went wrong, in words; mistakes of the input as JSON where the
// answer was to be JSON. What was typed with a line end in it, such as the name of a
// file, stays on its line.
func tell(to io.Writer, cmd *cobra.Command, args []string, err error) {
	asJSON := cmd.Flags().Lookup("json")
	if input := mistakes(err); input != nil && asJSON != nil && asJSON.Value.String() == "true" && writeMistakes(to, input) == nil {
		return
	}
	text := message(err)
	for _, arg := range args {
		text = strings.ReplaceAll(text, arg, source.OneLine(arg))
	}
	fmt.Fprintf(to, "telltale: %s\n", doc.Shown(text))
}

func newRoot(s streams) *cobra.Command {
	version := false
	root := &cobra.Command{
		Use:   "telltale",
		Short: "Finds what is wrong with a mud pump, and in which safe order to look",
		Long: `telltale takes what was seen and measured on a reciprocating mud pump, weighs it
against a rulebook of causes, and gives the likely causes with their reasons and
a list of checks, safety steps first.

It helps you think. It does not replace this pump's manual, the site's isolation
procedure, local rules or licensed practice: those govern.`,
		Args: cobra.ArbitraryArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			if version && len(args) == 0 {
				return writeVersion(s)
			}
			return helpOrUnknown(cmd, args)
		},
		SilenceUsage:      true,
		SilenceErrors:     true,
		CompletionOptions: cobra.CompletionOptions{HiddenDefaultCmd: true},
	}
	root.SetIn(s.in)
	root.SetErr(s.err)
	root.SetFlagErrorFunc(wrongOption)
	root.Flags().BoolVar(&version, "version", false, "print which program this is, its rulebook with its digest, and the Go that made it")
	root.SetHelpCommand(newHelp())
	root.SetUsageTemplate(optionWords.Replace(root.UsageTemplate()))
	for _, name := range topicNames {
		root.AddCommand(newTopic(name))
	}
	var book bookOption
	root.PersistentFlags().StringVar(&book.dir, "rulebook", "", "folder of a local rulebook to lay over the built-in one")
	root.AddCommand(newTriage(s, &book), newAlign(s, &book), newOutput(s, &book), newTeardown(s, &book), newAsk(s, &book), newNote(s, &book), newPractice(s, &book), newStudy(s, &book), newHear(s, &book), newRulebook(s, &book), newSheet(s, &book), newHandover(s, &book), newPump(s, &book), newRig(s, &book), newServe(s, &book))
	return root
}

// optionWords are our words in the library's help.
var optionWords = strings.NewReplacer("Global Flags:", "Options of every command:", "Flags:", "Options:", "Additional help topics:", "To read, with telltale help TOPIC:", "{{.UseLine}}", "{{useLine .UseLine}}")

func init() { cobra.AddTemplateFunc("useLine", useLine) }

// useLine is how a command is written.
func useLine(line string) string { return strings.Replace(line, "[flags]", "[options]", 1) }

// helpOrUnknown prints the help, or refuses a command that does not exist:
// a slip of the pen must not look like success.
func helpOrUnknown(cmd *cobra.Command, args []string) error {
	if len(args) == 0 {
		return cmd.Help()
	}
	var names []string
	for _, c := range cmd.Commands() {
		if c.IsAvailableCommand() {
			names = append(names, c.Name())
		}
	}
	return usageError{fmt.Errorf("unknown command %q%s", source.Clip(args[0]), source.Expected(args[0], names))}
}

func exitCode(err error) int {
	var (
		input      *source.InputError
		impossible *chances.ImpossibleError
		wide       *noisyor.TooWideError
		usage      usageError
		some       *someBadError
	)
	switch {
	case err == nil:
		return exitDone
	case errors.As(err, &input):
		return exitBadInput
	case errors.As(err, &impossible):
		return exitImpossible
	case errors.As(err, &wide), errors.Is(err, chances.ErrTooUnlikely):
		return exitTooWide
	case errors.As(err, &usage):
		return exitUsage
	case errors.Is(err, errNotProved), errors.As(err, &some):
		return exitBadInput
	}
	return exitFile
}
