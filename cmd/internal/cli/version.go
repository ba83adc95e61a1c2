package cli

import (
	"fmt"
	"runtime/debug"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/rules"
)

// writeVersion says which program this is, by which rulebook and made by which Go.
func writeVersion(s streams) error {
	book, err := rules.BuiltIn()
	if err != nil {
		return err
	}
	info, _ := debug.ReadBuildInfo()
	says := fmt.Sprintf("%s\nRulebook: %s, version %s, digest %s\n", versionOf(info), book.Name, book.Version, book.Digest)
	if info != nil {
		says += "Go: " + madeBy(info) + "\n"
	}
	if _, err := fmt.Fprint(s.out, doc.Shown(says)); err != nil {
		return fileError{err}
	}
	return nil
}

// versionOf is what the build knows of the version of the program and of the revision
// that it was made from.
func versionOf(info *debug.BuildInfo) string {
	revision, at, changed, version := "", "", false, ""
	if info != nil {
		revision, at, changed = setting(info, "vcs.revision"), setting(info, "vcs.time"), setting(info, "vcs.modified") == "true"
		version = strings.TrimSuffix(info.Main.Version, "+dirty")
	}
	says := "telltale"
	if version != "" && version != "(devel)" {
		says += " " + version
	}
	switch {
	case revision != "":
		says += "\nRevision: " + revision + doc.If(at != "", ", "+at) + doc.If(changed, ", and changes that stand in no revision")
	case says == "telltale":
		says += "\nVersion: not known. The build was told no revision: go build in a clone tells it, go run does not"
	}
	return says
}

// madeBy is the Go that made the program, and for what.
func madeBy(info *debug.BuildInfo) string {
	out := info.GoVersion
	if system := setting(info, "GOOS"); system != "" {
		out += ", " + system + "/" + setting(info, "GOARCH")
	}
	return out
}

func setting(info *debug.BuildInfo, key string) string {
	for _, s := range info.Settings {
		if s.Key == key {
			return s.Value
		}
	}
	return ""
}
