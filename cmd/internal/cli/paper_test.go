package cli

import (
	"encoding/xml"
	"errors"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// outside matches whatever a page could load or run.
var outside = regexp.MustCompile(`(?i)(https?:)?//[a-z]|<script|<link|<iframe|<object|<embed|<img|src=|@import|url\(|javascript:|\son[a-z]+=`)

// Every sheet is one well-formed file that loads and runs nothing, and each
// picture in it has words beside it.
func TestSheetsStandAlone(t *testing.T) {
	for name, out := range sheets(t) {
		t.Run(name, func(t *testing.T) {
			wellFormed(t, name, out)
			page := strings.ReplaceAll(out, `xmlns="http://www.w3.org/2000/svg"`, "")
			assert.NotRegexp(t, outside, page)
			assert.Equal(t, strings.Count(page, "<svg"), strings.Count(page, "<desc"), "a picture without words")
		})
	}
}

func wellFormed(t *testing.T, name, out string) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(strings.TrimPrefix(out, "<!DOCTYPE html>")))
	d.Entity = xml.HTMLEntity
	for {
		_, err := d.Token()
		if errors.Is(err, io.EOF) {
			return
		}
		require.NoError(t, err, name)
	}
}

// Text from a case cannot break out of its place.
func TestHostileTextStaysInItsPlace(t *testing.T) {
	const hostile = `</title></style></svg><script>alert(1)</script>" onload="x" '' ]]> &amp; <!-- {{.}}`
	text, err := os.ReadFile(filepath.Join(root, "cases/rod-measured.yaml"))
	require.NoError(t, err)
	quoted := "'" + strings.ReplaceAll(hostile, "'", "''") + "'"
	bad := strings.Replace(string(text), "name: Larkspur pump 2", "name: "+quoted, 1)
	bad = strings.Replace(bad, "with: feelers", "with: "+quoted, 1)
	require.NotEqual(t, string(text), bad)
	file := filepath.Join(t.TempDir(), "hostile.yaml")
	require.NoError(t, os.WriteFile(file, []byte(bad), 0o644))
	for _, args := range [][]string{{"sheet", "-o", "-", file}, {"align", "--html", file}} {
		out, errOut, code := run(t, args...)
		require.Zero(t, code, errOut)
		wellFormed(t, args[0], out)
		assert.NotContains(t, out, "<script", "%v", args)
		for _, tag := range []string{"style", "svg", "title"} {
			assert.Equal(t, strings.Count(out, "<"+tag+">")+strings.Count(out, "<"+tag+" "), strings.Count(out, "</"+tag+">"), "%v: %s", args, tag)
		}
	}
	out, _, code := run(t, "sheet", "--markdown", file)
	require.Zero(t, code)
	assert.NotContains(t, out, "<script")
}

// A sheet is written whole or not at all, and -o writes the same as standard
// output.
func TestSheetToAFile(t *testing.T) {
	t.Setenv("SOURCE_DATE_EPOCH", "1772356200")
	file := filepath.Join(t.TempDir(), "sheet.html")
	want, _, code := run(t, "sheet", "-o", "-", filepath.Join(root, "cases/wiper-again.yaml"))
	require.Zero(t, code)
	_, errOut, code := run(t, "sheet", "-o", file, filepath.Join(root, "cases/wiper-again.yaml"))
	require.Zero(t, code, errOut)
	got, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, want, string(got))
	_, _, code = run(t, "sheet", "-o", filepath.Join(t.TempDir(), "no", "folder.html"), filepath.Join(root, "cases/wiper-again.yaml"))
	assert.Equal(t, exitFile, code)
}
