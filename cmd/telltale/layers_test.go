package main

import (
	"os/exec"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// allowed says which packages of telltale each package may import: data flows
// evidence -> engine <- rules, and cmd shows it.
var allowed = map[string][]string{
	"telltale/evidence/source":       {},
	"telltale/evidence/speech":       {},
	"telltale/evidence":              {"telltale/evidence/source"},
	"telltale/rules":                 {"telltale/evidence", "telltale/evidence/source", "telltale/evidence/speech"},
	"telltale/engine/noisyor":        {},
	"telltale/engine/order":          {},
	"telltale/engine/measure":        {},
	"telltale/engine/align":          {"telltale/engine/measure"},
	"telltale/engine/pumping":        {"telltale/engine/measure"},
	"telltale/engine/lives":          {},
	"telltale/engine/wear":           {"telltale/engine/measure"},
	"telltale/engine/upkeep":         {"telltale/engine/chances", "telltale/engine/work", "telltale/engine/figures", "telltale/engine/lives", "telltale/engine/measure", "telltale/engine/wear", "telltale/evidence", "telltale/evidence/rig", "telltale/evidence/source", "telltale/rules"},
	"telltale/engine/figures":        {"telltale/evidence", "telltale/evidence/source", "telltale/rules", "telltale/engine/measure", "telltale/engine/align", "telltale/engine/pumping", "telltale/engine/lives"},
	"telltale/engine/chances":        {"telltale/evidence", "telltale/evidence/source", "telltale/rules", "telltale/engine/noisyor", "telltale/engine/figures"},
	"telltale/engine/work":           {"telltale/evidence", "telltale/rules", "telltale/engine/chances", "telltale/engine/order", "telltale/engine/figures"},
	"telltale/engine":                {"telltale/evidence", "telltale/rules", "telltale/engine/figures", "telltale/engine/chances", "telltale/engine/work"},
	"telltale/engine/prove":          {"telltale/engine/hear", "telltale/engine", "telltale/evidence", "telltale/evidence/source", "telltale/rules", "telltale/engine/chances", "telltale/engine/work"},
	"telltale/engine/hear":           {"telltale/evidence", "telltale/evidence/source", "telltale/evidence/speech", "telltale/rules"},
	"telltale/evidence/record":       {"telltale/evidence", "telltale/evidence/rig", "telltale/evidence/source"},
	"telltale/evidence/rig":          {"telltale/evidence", "telltale/evidence/source"},
	"telltale/engine/study":          {"telltale/engine", "telltale/engine/lives", "telltale/evidence", "telltale/rules", "telltale/engine/chances", "telltale/engine/work"},
	"telltale/engine/interview":      {"telltale/engine", "telltale/evidence", "telltale/rules", "telltale/engine/chances", "telltale/engine/work"},
	"telltale/cmd/internal/dialogue": {"telltale/engine/upkeep", "telltale/evidence/rig", "telltale/cmd/internal/doc", "telltale/engine/hear", "telltale/cmd/internal/pages", "telltale/cmd/internal/words", "telltale/engine", "telltale/engine/interview", "telltale/evidence", "telltale/evidence/record", "telltale/evidence/source", "telltale/rules", "telltale/cmd/internal/prompt", "telltale/engine/chances", "telltale/engine/work"},
	"telltale/engine/practice":       {"telltale/engine", "telltale/engine/align", "telltale/engine/figures", "telltale/engine/noisyor", "telltale/evidence", "telltale/rules", "telltale/engine/chances", "telltale/engine/work"},
	"telltale/cmd/internal/trainer":  {"telltale/cmd/internal/pages", "telltale/cmd/internal/doc", "telltale/cmd/internal/words", "telltale/cmd/internal/prompt", "telltale/engine", "telltale/engine/practice", "telltale/evidence", "telltale/rules", "telltale/engine/work"},
	"telltale/cmd/internal/words":    {"telltale/engine", "telltale/engine/figures", "telltale/evidence", "telltale/engine/chances"},
	"telltale/cmd/internal/doc":      {},
	"telltale/cmd/internal/pages":    {"telltale/engine/lives", "telltale/engine/upkeep", "telltale/engine/wear", "telltale/engine/hear", "telltale/cmd/internal/doc", "telltale/cmd/internal/drawing", "telltale/cmd/internal/words", "telltale/engine", "telltale/engine/figures", "telltale/engine/practice", "telltale/engine/prove", "telltale/engine/study", "telltale/evidence", "telltale/rules", "telltale/engine/chances", "telltale/engine/work"},
	"telltale/cmd/internal/drawing":  {"telltale/cmd/internal/doc"},
	"telltale/cmd/internal/prompt":   {"telltale/evidence"},
	"telltale/cmd/internal/talk":     {"telltale/cmd/internal/doc", "telltale/cmd/internal/prompt"},
	"telltale/cmd/internal/listen":   {"telltale/cmd/internal/doc"},
	"telltale/cmd/internal/site":     {"telltale/cmd/internal/trainer", "telltale/engine/practice", "telltale/cmd/internal/dialogue", "telltale/cmd/internal/doc", "telltale/cmd/internal/pages", "telltale/cmd/internal/prompt", "telltale/cmd/internal/words", "telltale/engine", "telltale/engine/chances", "telltale/engine/figures", "telltale/engine/upkeep", "telltale/evidence", "telltale/evidence/record", "telltale/evidence/rig", "telltale/evidence/source", "telltale/rules"},
	"telltale/cmd/internal/cli":      {"telltale/cmd/internal/listen", "telltale/cmd/internal/site", "telltale/engine/upkeep", "telltale/evidence/rig", "telltale/cmd/internal/prompt", "telltale/engine/hear", "telltale/cmd/internal/doc", "telltale/cmd/internal/pages", "telltale/cmd/internal/words", "telltale/engine/figures", "telltale/engine/study", "telltale/cmd/internal/trainer", "telltale/engine/practice", "telltale/cmd/internal/dialogue", "telltale/cmd/internal/talk", "telltale/evidence/record", "telltale/engine", "telltale/engine/noisyor", "telltale/engine/prove", "telltale/evidence", "telltale/evidence/source", "telltale/rules", "telltale/engine/chances"},
	"telltale/cmd/telltale":          {"telltale/cmd/internal/cli"},
}

// only says which package alone may import a library.
var only = map[string]string{
	"gopkg.in/yaml.v3":                            "telltale/evidence/source",
	"github.com/expr-lang/expr/ast":               "telltale/rules",
	"github.com/olekukonko/tablewriter":           "telltale/cmd/internal/doc",
	"github.com/spf13/cobra":                      "telltale/cmd/internal/cli",
	"github.com/mattn/go-runewidth":               "telltale/cmd/internal/doc",
	"github.com/blevesearch/snowballstem":         "telltale/evidence/speech",
	"github.com/blevesearch/snowballstem/english": "telltale/evidence/speech",
	"github.com/hbollon/go-edlib":                 "telltale/engine/hear",
	"golang.org/x/term":                           "telltale/cmd/internal/cli",
	"github.com/spf13/pflag":                      "telltale/cmd/internal/cli",
	"github.com/inconshreveable/mousetrap":        "telltale/cmd/internal/cli",
	"github.com/expr-lang/expr/parser":            "telltale/rules",
	"github.com/olekukonko/tablewriter/tw":        "telltale/cmd/internal/doc",
}

func TestNoImportRunsBackwards(t *testing.T) {
	out, err := exec.Command("go", "list", "-f", `{{.ImportPath}} {{join .Imports " "}}`, "telltale/...").Output()
	require.NoError(t, err)
	for _, line := range strings.Split(strings.TrimSpace(string(out)), "\n") {
		fields := strings.Fields(line)
		may, known := allowed[fields[0]]
		if !known {
			t.Errorf("%s has no place in the table of packages", fields[0])
		}
		for _, imported := range fields[1:] {
			if strings.HasPrefix(imported, "telltale/") && !slices.Contains(may, imported) {
				t.Errorf("%s may not import %s", fields[0], imported)
			}
			if owner, owned := only[imported]; owned && owner != fields[0] {
				t.Errorf("%s imports %s, which belongs to %s", fields[0], imported, owner)
			}
		}
	}
}
