package cli

import (
	"bytes"
	"io"
	"os"
	"os/exec"
	"os/signal"
	"runtime"
	"strings"
	"unicode/utf8"

	"golang.org/x/term"
)

// paged writes a page. One that is longer than the window of a terminal goes through
// the pager of the system; without one, or if it fails, all of it is written as it is.
func paged(out io.Writer, page []byte) error {
	if f, ok := out.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		columns, lines, err := term.GetSize(int(f.Fd()))
		command := pager(os.LookupEnv, runtime.GOOS, exec.LookPath)
		if err == nil && command != nil && longer(page, columns, lines) && throughPager(command, page, f) {
			return nil
		}
	}
	_, err := out.Write(page)
	return err
}

// longer says whether a page and the prompt behind it have more rows than the window.
func longer(page []byte, columns, lines int) bool {
	if columns <= 0 || lines <= 0 {
		return false
	}
	rows := 0
	for _, line := range bytes.Split(bytes.TrimSuffix(page, []byte("\n")), []byte("\n")) {
		rows += max(1, (utf8.RuneCount(line)+columns-1)/columns)
	}
	return rows > lines-1
}

// pager is the command that PAGER names, in words as they stand: no shell reads it.
// Where it is not set it is less, if the system has it; in Windows none. An empty one,
// or cat, is none.
func pager(env func(string) (string, bool), system string, find func(string) (string, error)) []string {
	named, set := env("PAGER")
	if !set {
		if kind, known := env("TERM"); system == "windows" || !known || kind == "dumb" {
			return nil
		}
		named = "less"
	}
	command := strings.Fields(named)
	if _, err := find(named); err == nil {
		command = []string{named} // its folder has a blank in its name
	}
	if len(command) == 0 || command[0] == "cat" {
		return nil
	}
	if _, err := find(command[0]); err != nil {
		return nil
	}
	return command
}

// throughPager has a pager show a page, and says whether it did. What is typed is the
// pager's while it runs, Ctrl-C too.
func throughPager(command []string, page []byte, out *os.File) bool {
	held := make(chan os.Signal, 1)
	signal.Notify(held, os.Interrupt)
	defer signal.Stop(held)
	cmd := exec.Command(command[0], command[1:]...)
	cmd.Stdin, cmd.Stdout, cmd.Stderr = bytes.NewReader(page), out, os.Stderr
	cmd.Env = append(lessDefaults(os.LookupEnv), os.Environ()...)
	return cmd.Run() == nil
}

// lessDefaults has less leave the page in the window and take its letters as they are
// written, unless somebody said otherwise.
func lessDefaults(env func(string) (string, bool)) (out []string) {
	for _, d := range [][2]string{{"LESS", "FRX"}, {"LESSCHARSET", "utf-8"}} {
		if _, set := env(d[0]); !set {
			out = append(out, d[0]+"="+d[1])
		}
	}
	return out
}
