package cli

import (
	"embed"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"telltale/evidence/source"
)

// topics holds the texts of telltale help TOPIC, one file each. The first line is a
// heading: what the list of topics says of it.
//
//go:embed help/*.md
var topics embed.FS

// topicNames are the topics in the order of the list.
var topicNames = []string{"case", "jobs", "json"}

// newTopic is a topic of help that is no command.
func newTopic(name string) *cobra.Command {
	text, err := topics.ReadFile("help/" + name + ".md")
	if err != nil {
		panic(err) // it is embedded
	}
	heading, _, _ := strings.Cut(string(text), "\n")
	return &cobra.Command{Use: name, Short: strings.TrimPrefix(heading, "# "), Long: strings.TrimSpace(string(text))}
}

// newHelp shows the help of a command or a topic; a slip of the pen is refused.
func newHelp() *cobra.Command {
	return &cobra.Command{
		Use:   "help [COMMAND or TOPIC]",
		Short: "What a command does, or one of the topics: " + strings.Join(topicNames, ", "),
		RunE: func(cmd *cobra.Command, args []string) error {
			at, rest := cmd.Root(), args
			for ; len(rest) > 0; rest = rest[1:] {
				next := helpOn(at, rest[0])
				if next == nil {
					return usageError{fmt.Errorf("no help on %q%s", source.Clip(strings.Join(args, " ")), source.Expected(rest[0], helpNames(at)))}
				}
				at = next
			}
			at.InitDefaultHelpFlag()
			return at.Help()
		},
	}
}

// helpOn is the command or topic of that name below another; nil if there is none.
func helpOn(below *cobra.Command, name string) *cobra.Command {
	for _, c := range below.Commands() {
		if c.Name() == name && (c.IsAvailableCommand() || c.IsAdditionalHelpTopicCommand()) {
			return c
		}
	}
	return nil
}

// helpNames are the commands and topics below a command.
func helpNames(below *cobra.Command) []string {
	var out []string
	for _, c := range below.Commands() {
		if helpOn(below, c.Name()) != nil {
			out = append(out, c.Name())
		}
	}
	return out
}
