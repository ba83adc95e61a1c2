package main

import (
	"go/ast"
	"go/parser"
	"go/scanner"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// repository is the folder of the whole, from here.
const repository = "../.."

// word is a row of the glossary in DEVELOPERS.md.
type word struct {
	word             string
	types, yaml, out []string // Go types, YAML keys, JSON names
	not              []string
}

var quoted = regexp.MustCompile("`([^`]+)`")

// glossary reads the table of the section Words.
func glossary(t *testing.T) []word {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(repository, "DEVELOPERS.md"))
	require.NoError(t, err)
	_, section, found := strings.Cut(string(text), "\n## Words\n")
	require.True(t, found)
	section, _, _ = strings.Cut(section, "\n## ")
	var out []word
	for _, line := range strings.Split(section, "\n") {
		if !strings.HasPrefix(line, "| ") || strings.HasPrefix(line, "| ---") || strings.HasPrefix(line, "| word ") {
			continue
		}
		cells := strings.Split(strings.TrimSuffix(strings.TrimPrefix(line, "|"), "|"), "|")
		require.Len(t, cells, 6, line)
		codes := func(cell string) (names []string) {
			for _, m := range quoted.FindAllStringSubmatch(cell, -1) {
				names = append(names, m[1])
			}
			return names
		}
		w := word{word: strings.TrimSpace(cells[0]), types: codes(cells[2]), yaml: codes(cells[3]), out: codes(cells[4])}
		for _, not := range strings.Split(cells[5], ",") {
			if not = strings.ToLower(strings.TrimSpace(not)); not != "" {
				w.not = append(w.not, not)
			}
		}
		out = append(out, w)
	}
	require.Greater(t, len(out), 15)
	return out
}

// pattern finds a word that is not used: whole, in the plural too, with one
// blank, hyphen or underscore between two parts as good as another; with * at
// its end all words that begin so.
func pattern(not string) *regexp.Regexp {
	stem, begins := strings.CutSuffix(not, "*")
	parts := strings.FieldsFunc(stem, func(r rune) bool { return r == ' ' || r == '-' })
	for i := range parts {
		parts[i] = regexp.QuoteMeta(parts[i])
	}
	end := `(?:s|es)?(?:$|[^\pL])`
	if begins {
		end = ""
	}
	return regexp.MustCompile(`(?:^|[^\pL])` + strings.Join(parts, `[\s_-]+`) + end)
}

// said is a text that somebody reads, in small letters, and where it stands.
type said struct{ where, text string }

func say(where, text string) said { return said{where, strings.ToLower(text)} }

// userTexts gives all that a user or a keeper of the rulebook reads: pages,
// scripts with their output, README and the topics of help, the rulebook without its remarks, and the
// texts of the program with the names of its JSON.
func userTexts(t *testing.T) []said {
	t.Helper()
	var out []said
	walk(t, "testdata", func(path string, text string) { out = append(out, say(path, text)) })
	walk(t, "rules/book", func(path string, text string) {
		for i, line := range strings.Split(text, "\n") {
			line, _, _ = strings.Cut(" "+line, " #")
			out = append(out, say(path+":"+strconv.Itoa(i+1), line))
		}
	})
	for _, name := range append([]string{"README.md"}, topics(t)...) {
		text, err := os.ReadFile(filepath.Join(repository, name))
		require.NoError(t, err)
		out = append(out, say(name, string(text)))
	}
	for _, dir := range []string{"cmd", "engine", "evidence", "rules"} {
		walk(t, dir, func(path, text string) {
			if strings.HasSuffix(path, ".go") && !strings.HasSuffix(path, "_test.go") {
				out = append(out, literals(path, text)...)
			}
		})
	}
	return out
}

// walk hands the text files below a folder on, but for seeds of a fuzzer.
func walk(t *testing.T, dir string, do func(path, text string)) {
	t.Helper()
	require.NoError(t, filepath.WalkDir(filepath.Join(repository, dir), func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || strings.Contains(filepath.ToSlash(path), "/fuzz/") {
			return err
		}
		text, err := os.ReadFile(path)
		do(filepath.ToSlash(strings.TrimPrefix(path, repository+string(filepath.Separator))), string(text))
		return err
	}))
}

// literals gives the strings of a Go file.
func literals(path, text string) []said {
	var out []said
	var s scanner.Scanner
	files := token.NewFileSet()
	file := files.AddFile(path, files.Base(), len(text))
	s.Init(file, []byte(text), nil, 0)
	for {
		at, tok, lit := s.Scan()
		if tok == token.EOF {
			return out
		}
		if tok == token.STRING {
			out = append(out, say(files.Position(at).String(), lit))
		}
	}
}

// ofCrews tells that a text is how crews talk: their phrases are no words of ours.
func (s said) ofCrews() bool {
	return strings.HasPrefix(s.where, "rules/book/said-") || strings.HasPrefix(s.where, "rules/book/proofs/told-")
}

// unused gives where texts of ours hold a word that the glossary says is not used.
func unused(words []word, texts []said) []string {
	var out []string
	for _, w := range words {
		for _, not := range w.not {
			is := pattern(not)
			begin := strings.FieldsFunc(not, func(r rune) bool { return r == ' ' || r == '-' || r == '*' })[0]
			for _, s := range texts {
				if s.ofCrews() || !strings.Contains(s.text, begin) {
					continue
				}
				if at := is.FindStringIndex(s.text); at != nil {
					out = append(out, s.where+": "+strconv.Quote(s.text[max(0, at[0]-20):min(len(s.text), at[1]+20)])+": "+not+" is called "+w.word)
				}
			}
		}
	}
	return out
}

// declared gives the types of the packages by their short names, as rules.Sign.
func declared(t *testing.T) map[string]bool {
	t.Helper()
	out := map[string]bool{}
	for _, dir := range []string{"engine", "evidence", "rules"} {
		walk(t, dir, func(path, text string) {
			if !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
				return
			}
			file, err := parser.ParseFile(token.NewFileSet(), path, text, parser.SkipObjectResolution)
			require.NoError(t, err)
			for _, d := range file.Decls {
				if g, ok := d.(*ast.GenDecl); ok {
					for _, spec := range g.Specs {
						if typed, ok := spec.(*ast.TypeSpec); ok {
							out[file.Name.Name+"."+typed.Name.Name] = true
						}
					}
				}
			}
		})
	}
	return out
}

// One word for one thing: what the glossary names is there by that name, and
// the words that it does not use stand nowhere.
func TestWords(t *testing.T) {
	words, texts := glossary(t), userTexts(t)
	var files, program strings.Builder
	for _, s := range texts {
		if strings.Contains(s.where, ".go:") {
			program.WriteString(s.text + "\n")
		} else {
			files.WriteString(s.text + "\n")
		}
	}
	types := declared(t)
	for _, w := range words {
		t.Run(w.word, func(t *testing.T) {
			for _, name := range w.types {
				assert.True(t, types[name], "there is no type %s", name)
			}
			for _, key := range w.yaml {
				assert.True(t, regexp.MustCompile(`(?m)(^|[\s{,])`+regexp.QuoteMeta(key)+`:`).MatchString(files.String()), "there is no key %s", key)
			}
			for _, name := range w.out {
				assert.True(t, regexp.MustCompile(`json:"`+regexp.QuoteMeta(name)+`[,"]`).MatchString(program.String()), "there is no name %s in the JSON", name)
			}
			assert.Empty(t, unused([]word{w}, texts))
		})
	}
}

// What the glossary does not use is seen, wherever it stands; what only looks
// like it is not.
func TestWordsThatAreNotUsedAreSeen(t *testing.T) {
	words := glossary(t)
	for text, seen := range map[string]bool{
		"The first symptom is a knock.": true, "Symptoms: none": true, `json:"symptom_title"`: true, "open-access: [lid]": true, "Recheck it.": true,
		"A closing step": true, "closing-steps:": true, "Give it over at shift\n  change.": true, "Guard steps first": true,
		"The guard is off.": false, "The lid is closed; step back.": false, "Look again.": false, "accessory": true, "It can be seen": false,
		"A successful check": false, "the fluid's component": true,
	} {
		t.Run(text, func(t *testing.T) {
			assert.Equal(t, seen, len(unused(words, []said{say("here", text)})) > 0)
		})
	}
	t.Run("how crews talk", func(t *testing.T) {
		assert.Empty(t, unused(words, []said{say("rules/book/said-checks.yaml:1", "an indicator on the rod")}))
		assert.NotEmpty(t, unused(words, []said{say("rules/book/readings.yaml:1", "an indicator on the rod")}))
	})
}
