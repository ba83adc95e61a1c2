package main

import (
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// files lists what the repository holds, folders with it, by names from its
// root with slashes.
func files(t *testing.T) (files, folders []string) {
	t.Helper()
	require.NoError(t, fs.WalkDir(os.DirFS(repository), ".", func(name string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case name != "." && strings.HasPrefix(name, ".") && d.IsDir() && name != ".ci":
			return fs.SkipDir
		case d.IsDir():
			folders = append(folders, name)
		default:
			files = append(files, name)
		}
		return nil
	}))
	return files, folders
}

var (
	fence    = regexp.MustCompile("(?s)```.*?```")
	fileName = regexp.MustCompile(`^(?:[\w.*-]+/)*[\w*-]+\.(?:go|yaml|md|tmpl|txtar|mod)$`)
	pathName = regexp.MustCompile(`(?:\./)?[\w.*-]+(?:/[\w.*-]+)+`)
)

// Every file and folder that the texts name is there: a name alone stands
// for a file of that name somewhere, a path for itself.
func TestFilesThatTheTextsNameAreThere(t *testing.T) {
	files, folders := files(t)
	is := func(name string) bool {
		name = strings.TrimSuffix(strings.TrimPrefix(name, "./"), "/")
		return slices.ContainsFunc(slices.Concat(files, folders), func(have string) bool {
			if !strings.Contains(name, "/") {
				have = path.Base(have)
			}
			matched, err := path.Match(name, have)
			return matched && err == nil
		})
	}
	starts := func(name string) bool { // with a folder of the repository
		first, _, _ := strings.Cut(strings.TrimPrefix(name, "./"), "/")
		return slices.Contains(folders, first)
	}
	named := 0
	for _, text := range append([]string{"README.md", "DEVELOPERS.md"}, topics(t)...) {
		read, err := os.ReadFile(filepath.Join(repository, text))
		require.NoError(t, err)
		var names []string
		for _, m := range quoted.FindAllStringSubmatch(fence.ReplaceAllString(string(read), ""), -1) {
			if fileName.MatchString(m[1]) {
				names = append(names, m[1])
			}
			names = append(names, slices.DeleteFunc(pathName.FindAllString(m[1], -1), func(name string) bool {
				return !starts(name) || regexp.MustCompile(`\.[A-Z]\w*$`).MatchString(name) // engine/order.Best is no file
			})...)
		}
		for _, block := range fence.FindAllString(string(read), -1) {
			names = append(names, slices.DeleteFunc(pathName.FindAllString(block, -1), func(name string) bool { return !starts(name) })...)
		}
		for _, name := range names {
			assert.True(t, is(name), "%s names %s, which is not there", text, name)
		}
		named += len(names)
	}
	assert.Greater(t, named, 60)
}

// topics are the texts of telltale help, by names from the root of the repository.
func topics(t *testing.T) (names []string) {
	t.Helper()
	files, _ := files(t)
	for _, file := range files {
		if path.Dir(file) == "cmd/internal/cli/help" {
			names = append(names, file)
		}
	}
	require.NotEmpty(t, names)
	return names
}

// The picture of the structure names every package, and each file under the
// package that holds it.
func TestThePictureOfTheStructureIsThatOfTheTree(t *testing.T) {
	files, folders := files(t)
	read, err := os.ReadFile(filepath.Join(repository, "DEVELOPERS.md"))
	require.NoError(t, err)
	picture := fence.FindString(string(read))
	of, packages, seen := "", map[string]bool{}, 0
	for _, word := range regexp.MustCompile(`(?:engine|evidence|rules|cmd/internal)(?:/[a-z*.-]+)*|\w+\.go\b`).FindAllString(picture, -1) {
		if !strings.HasSuffix(word, ".go") {
			of, packages[word] = word, true
			continue
		}
		seen++
		assert.Contains(t, files, of+"/"+word, "the picture has %s under %s", word, of)
	}
	assert.Greater(t, seen, 30)
	for _, folder := range folders {
		holds := slices.ContainsFunc(files, func(file string) bool { return path.Dir(file) == folder && strings.HasSuffix(file, ".go") })
		if holds && folder != "cmd/telltale" {
			assert.True(t, packages[folder], "the picture has no %s", folder)
		}
	}
}
