package cli

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"telltale/evidence/source"
)

// takes is the rule of a command that takes so many words behind its name, most -1
// for any number; what says in words what they are.
func takes(least, most int, what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		var says string
		switch n := len(args); {
		case n < least && n == 0:
			says = fmt.Sprintf("%s needs %s; none is named", cmd.Name(), what)
		case n < least:
			says = fmt.Sprintf("%s needs %s; received only %s", cmd.Name(), what, quotedAll(args))
		case most == 0 && n > 0:
			says = fmt.Sprintf("%s takes options alone; received %s", cmd.Name(), quotedAll(args))
		case most > 0 && n > most:
			says = fmt.Sprintf("%s takes %s, and nothing more; received %s", cmd.Name(), what, quotedAll(args))
		default:
			return nil
		}
		return usageOf(cmd, says)
	}
}

// quotedAll names the words of a command line as they were read.
func quotedAll(args []string) string {
	out := make([]string, len(args))
	for i, a := range args {
		out[i] = strconv.Quote(source.Clip(a))
	}
	return strings.Join(out, ", ")
}

// usageOf is a mistake on the command line of one command, with how it is written.
func usageOf(cmd *cobra.Command, says string) error {
	return usageError{fmt.Errorf("%s\nusage: %s\nmore:  %s --help", says, useLine(cmd.UseLine()), cmd.CommandPath())}
}

// wrongOption says in words what the library found wrong with an option.
func wrongOption(cmd *cobra.Command, err error) error {
	var (
		unknown *pflag.NotExistError
		alone   *pflag.ValueRequiredError
		value   *pflag.InvalidValueError
		form    *pflag.InvalidSyntaxError
	)
	says := err.Error()
	switch {
	case errors.As(err, &unknown):
		says = unknownOption(cmd, unknown)
	case errors.As(err, &alone):
		says = fmt.Sprintf("%s stands without its value; expected %s behind it: %s", optionName(alone.GetFlag()), kindOfValue(alone.GetFlag()), alone.GetFlag().Usage)
	case errors.As(err, &value):
		says = fmt.Sprintf("%s is %q; expected %s: %s", optionName(value.GetFlag()), source.Clip(value.GetValue()), kindOfValue(value.GetFlag()), value.GetFlag().Usage)
	case errors.As(err, &form):
		says = fmt.Sprintf("%q is no option; expected --NAME or --NAME=VALUE", source.Clip(form.GetSpecifiedFlag()))
	}
	return usageOf(cmd, says)
}

// unknownOption names the options that are near to one that the command does not have.
func unknownOption(cmd *cobra.Command, unknown *pflag.NotExistError) string {
	name, has := unknown.GetSpecifiedName(), cmd.CommandPath()
	if cmd.HasParent() {
		has = cmd.Name()
	}
	if short := unknown.GetSpecifiedShortnames(); short != "" {
		return fmt.Sprintf("%s has no option -%s%s", has, source.Clip(name), doubled(cmd, short))
	}
	return fmt.Sprintf("%s has no option --%s%s", has, source.Clip(name), source.Expected("--"+name, optionNames(cmd)))
}

// doubled asks whether an option behind one stroke was meant with two; if not, it may
// have been meant as no option at all.
func doubled(cmd *cobra.Command, short string) string {
	if slices.Contains(optionNames(cmd), "--"+short) {
		return "; did you mean --" + short + "?"
	}
	return "; a word that begins with - stands behind a -- of its own"
}

// optionNames are the options of a command, as they are typed.
func optionNames(cmd *cobra.Command) []string {
	var out []string
	cmd.Flags().VisitAll(func(f *pflag.Flag) {
		if !f.Hidden {
			out = append(out, "--"+f.Name)
		}
	})
	return out
}

func optionName(f *pflag.Flag) string { return "--" + f.Name }

// kindOfValue says what an option takes.
func kindOfValue(f *pflag.Flag) string {
	switch f.Value.Type() {
	case "int", "uint64":
		return "a whole number"
	case "float64":
		return "a number"
	case "bool":
		return "nothing, or =true or =false"
	}
	return "a name or a word"
}
