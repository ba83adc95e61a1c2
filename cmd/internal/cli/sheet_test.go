package cli

import (
	"encoding/json"
	"html"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// epoch is the date on the sheets of these tests, 2026-03-01 10:30 UTC.
const epoch = "1772361000"

// The sheets of three cases, one of them as Markdown, and two pages with
// pictures are what their golden files hold. The style sheet that every page has whole
// is not in them again.
func TestSheetsAreTheirGoldenFiles(t *testing.T) {
	t.Setenv("SOURCE_DATE_EPOCH", epoch)
	style, err := os.ReadFile("../doc/page.css")
	require.NoError(t, err)
	for name, args := range map[string][]string{
		"rod-measured.html":       {"sheet", "-o", "-", "cases/rod-measured.yaml"},
		"duplex-survey.html":      {"sheet", "-o", "-", "cases/duplex-survey.yaml"},
		"pit-gain.html":           {"sheet", "-o", "-", "cases/pit-gain.yaml"},
		"wiper-again.md":          {"sheet", "--markdown", "cases/wiper-again.yaml"},
		"guide-tilted.align.html": {"align", "--html", "cases/guide-tilted.yaml"},
		"tank-short.output.html":  {"output", "--html", "cases/tank-short.yaml"},
	} {
		t.Run(name, func(t *testing.T) {
			last := len(args) - 1
			args = append(append([]string{}, args[:last]...), filepath.Join(root, args[last]))
			out, errOut, code := demo(t, args...)
			require.Zero(t, code, errOut)
			before, after, styled := strings.Cut(out, string(style))
			require.Equal(t, strings.HasSuffix(name, ".html"), styled)
			sameAsGolden(t, filepath.Join(root, "golden", "sheet", name), before+after)
		})
	}
}

// sheets gives every page with pictures that the demo cases have.
func sheets(t *testing.T) map[string]string {
	t.Helper()
	t.Setenv("SOURCE_DATE_EPOCH", epoch)
	out := map[string]string{}
	put := func(name string, args ...string) {
		page, errOut, code := demo(t, args...)
		require.Zero(t, code, "%s: %s", name, errOut)
		out[name] = page
	}
	for _, file := range cases(t) {
		name := strings.TrimSuffix(filepath.Base(file), ".yaml")
		put(name, "sheet", "-o", "-", file)
		put(name+" align", "align", "--html", file)
		put(name+" output", "output", "--html", file)
	}
	for _, pump := range []string{"triplex", "duplex"} {
		for _, form := range formNames(t) {
			put("blank "+form+" "+pump, "sheet", "--blank", form, "--pump", pump, "-o", "-")
		}
		put("blank all "+pump, "sheet", "--blank", "all", "--pump", pump, "-o", "-")
	}
	return out
}

// Every picture has a caption and a description that say the same, and no id
// stands twice on a page.
func TestPicturesAreCaptioned(t *testing.T) {
	for name, page := range sheets(t) {
		ids := map[string]bool{}
		for _, id := range regexp.MustCompile(` id="([^"]*)"`).FindAllStringSubmatch(page, -1) {
			assert.False(t, ids[id[1]], "%s: the id %s stands twice", name, id[1])
			ids[id[1]] = true
		}
		figures := regexp.MustCompile(`(?s)<svg .*?<desc [^>]*>([^<]*)</desc>.*?</svg>\s*<figcaption><b>[^<]*</b> ([^<]*)(?:<span class="words">([^<]*)</span>)?</figcaption>`).FindAllStringSubmatch(page, -1)
		assert.Len(t, figures, strings.Count(page, "<svg "), name)
		for _, f := range figures {
			assert.Equal(t, html.UnescapeString(f[2]+f[3]), html.UnescapeString(f[1]), name)
		}
		for _, bad := range []string{"NaN", "+Inf", "ZgotmplZ"} {
			assert.NotContains(t, page, bad, name)
		}
	}
}

var (
	svgs       = regexp.MustCompile(`(?s)<svg .*?</svg>`)
	svgTexts   = regexp.MustCompile(`<text ([^>]*)>([^<]*)</text>`)
	numbers    = regexp.MustCompile(`[+-]?\d+(?:\.\d+)?`)
	notFigures = regexp.MustCompile(`(?i)(about|more than|less than) \d+ in \d+|\d+ times|Plane \d`)
)

// Every figure in a picture is one that the text of triage, align, output or
// teardown prints, or a length of the JSON of align.
func TestFiguresInPicturesAreTheReports(t *testing.T) {
	pages := sheets(t)
	for _, file := range cases(t) {
		name := strings.TrimSuffix(filepath.Base(file), ".yaml")
		printed := map[string]bool{}
		for _, command := range []string{"triage", "align", "output", "teardown"} {
			for _, n := range numbers.FindAllString(demoText(t, command, file, 160), -1) {
				printed[strings.TrimLeft(n, "+-")] = true
			}
		}
		measured, _, code := run(t, "align", "--json", file)
		require.Zero(t, code)
		var report any
		require.NoError(t, json.Unmarshal([]byte(measured), &report))
		for _, metres := range lengthsIn(report) {
			for digits := range 4 { // as many as the readings carry
				printed[strings.TrimLeft(strconv.FormatFloat(metres/25.4e-6, 'f', digits, 64), "-")] = true
				printed[strings.TrimLeft(strconv.FormatFloat(metres*1000, 'f', digits, 64), "-")] = true
			}
		}
		for _, page := range []string{name, name + " align", name + " output"} {
			for _, svg := range svgs.FindAllString(pages[page], -1) {
				for _, text := range svgTexts.FindAllStringSubmatch(svg, -1) {
					if strings.Contains(text[1], `class="axis"`) || text[2] == "0" {
						continue
					}
					for _, n := range numbers.FindAllString(notFigures.ReplaceAllString(html.UnescapeString(text[2]), ""), -1) {
						n = strings.TrimLeft(n, "+-")
						assert.True(t, printed[n], "%s: %q holds %s, which no report prints", page, text[2], n)
					}
				}
			}
		}
	}
}

// lengthsIn gives every length of a JSON report, in metres.
func lengthsIn(value any) []float64 {
	var out []float64
	switch x := value.(type) {
	case map[string]any:
		if metres, ok := x["metres"].(float64); ok {
			out = append(out, metres)
		}
		for _, v := range x {
			out = append(out, lengthsIn(v)...)
		}
	case []any:
		for _, v := range x {
			out = append(out, lengthsIn(v)...)
		}
	}
	return out
}

// The Markdown has all that the HTML says: every step of the sheet. The list of
// steps and the teardown plan have them all.
func TestMarkdownSheetHasTheSteps(t *testing.T) {
	for _, file := range cases(t) {
		md, _, code := demo(t, "sheet", "--markdown", file)
		require.Zero(t, code)
		page, _, code := demo(t, "sheet", "-o", "-", file)
		require.Zero(t, code)
		all, _, code := demo(t, "teardown", "--markdown", file)
		require.Zero(t, code)
		weighed, _, code := demo(t, "triage", "--full", "--markdown", file)
		require.Zero(t, code)
		plan, _, code := demo(t, "teardown", "--json", file)
		require.Zero(t, code)
		assert.NotContains(t, md, "<")
		for _, title := range regexp.MustCompile(`"kind": "(?:check|opening|return)",\s+"id": "[^"]*",\s+"cylinder": "[^"]*",\s+"end": "[^"]*",\s+"title": "([^"]*)"`).FindAllStringSubmatch(plan, -1) {
			assert.Contains(t, all+weighed, title[1], file)
			if strings.Contains(page, title[1]) { // the paper ends where the trouble is likely to be found
				assert.Contains(t, md, title[1], file)
			}
		}
	}
}

func TestSheetExitCodes(t *testing.T) {
	dir := t.TempDir()
	wiper := filepath.Join(root, "cases/wiper-again.yaml")
	for name, c := range map[string]struct {
		args []string
		want int
	}{
		"a sheet":            {[]string{"sheet", wiper, "-o", filepath.Join(dir, "a.html")}, exitDone},
		"a stop":             {[]string{"sheet", "-o", "-", filepath.Join(root, "cases/pit-gain.yaml")}, exitDone},
		"blank":              {[]string{"sheet", "--blank", "valves", "-o", "-"}, exitDone},
		"blank, which?":      {[]string{"sheet", "--blank"}, exitDone},
		"blank, in a file":   {[]string{"sheet", "--blank", "-o", filepath.Join(dir, "list.html")}, exitUsage},
		"no such form":       {[]string{"sheet", "--blank", "valve"}, exitUsage},
		"no case":            {[]string{"sheet"}, exitUsage},
		"two cases":          {[]string{"sheet", wiper, wiper}, exitUsage},
		"blank with a case":  {[]string{"sheet", "--blank", wiper}, exitUsage},
		"no such pump":       {[]string{"sheet", "--blank", "--pump", "quintuplex"}, exitUsage},
		"mistakes":           {[]string{"sheet", filepath.Join(root, "mistakes/many.yaml")}, exitBadInput},
		"not there":          {[]string{"sheet", "no-such-file.yaml"}, exitFile},
		"no folder to write": {[]string{"sheet", wiper, "-o", filepath.Join(dir, "none", "a.html")}, exitFile},
		"onto a folder":      {[]string{"sheet", wiper, "-o", dir}, exitFile},
		"onto the case":      {[]string{"sheet", wiper, "-o", wiper}, exitUsage},
		"html and json":      {[]string{"align", "--html", "--json", wiper}, exitUsage},
	} {
		t.Run(name, func(t *testing.T) {
			before, err := os.ReadFile(wiper)
			require.NoError(t, err)
			_, errOut, code := run(t, c.args...)
			assert.Equal(t, c.want, code, errOut)
			after, err := os.ReadFile(wiper)
			require.NoError(t, err)
			assert.Equal(t, string(before), string(after), "the case was touched")
		})
	}
	left, err := filepath.Glob(filepath.Join(dir, ".telltale-*"))
	require.NoError(t, err)
	assert.Empty(t, left, "a half file is left")
}

// What a sheet left that was killed while it was written goes with the next one; what is
// being written now, and what is not ours, stays.
func TestASheetTakesAwayWhatAKilledOneLeft(t *testing.T) {
	dir := t.TempDir()
	old := time.Now().Add(-time.Hour)
	for name, stays := range map[string]bool{".telltale-1234567890": false, ".telltale-42": true, ".telltale-mine": true, ".telltale-": true, "telltale-7": true, ".telltale-99": true} {
		path := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(path, []byte("half a sh"), 0o600))
		if name != ".telltale-42" { // that one is new
			require.NoError(t, os.Chtimes(path, old, old))
		}
		if name == ".telltale-99" { // a folder
			require.NoError(t, os.Remove(path))
			require.NoError(t, os.Mkdir(path, 0o700))
			require.NoError(t, os.Chtimes(path, old, old))
		}
		_, errOut, code := run(t, "sheet", "--blank", "valves", "-o", filepath.Join(dir, "a.html"))
		require.Zero(t, code, errOut)
		_, err := os.Lstat(path)
		assert.Equal(t, stays, err == nil, name)
	}
}

func TestSheetRefusesABadDate(t *testing.T) {
	t.Setenv("SOURCE_DATE_EPOCH", "soon")
	_, errOut, code := run(t, "sheet", "--blank", "valves", "-o", "-")
	assert.Equal(t, exitUsage, code)
	assert.Contains(t, errOut, "SOURCE_DATE_EPOCH")
}

// A sheet takes the place of an older one whole, keeps its mode, and follows a
// link.
func TestSheetTakesTheOldOnesPlace(t *testing.T) {
	dir := t.TempDir()
	file, link := filepath.Join(dir, "a.html"), filepath.Join(dir, "b.html")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	if err := os.Symlink(file, link); err != nil {
		link = file
	}
	_, errOut, code := run(t, "sheet", "--blank", "valves", "-o", link)
	require.Zero(t, code, errOut)
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.True(t, strings.HasSuffix(string(text), "</html>\n"))
	info, err := os.Stat(file)
	require.NoError(t, err)
	if runtime.GOOS != "windows" { // where a file is read-only or not, and no more
		assert.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	}
}

// A sheet goes beside nobody's work: it has the name of the case, takes the place of
// an older sheet in whatever form, and of nothing else.
func TestASheetTakesTheNameOfItsCase(t *testing.T) {
	wiper, err := filepath.Abs(filepath.Join(root, "cases/wiper-again.yaml"))
	require.NoError(t, err)
	t.Chdir(t.TempDir())
	for _, c := range []struct {
		args []string
		file string
	}{
		{[]string{"sheet", wiper}, "wiper-again.html"},
		{[]string{"sheet", "--blank", "valves"}, "valves-triplex.html"},
		{[]string{"sheet", "--blank", "all", "--pump", "duplex"}, "forms-duplex.html"},
		{[]string{"sheet", "--markdown", "-o", "a.md", wiper}, "a.md"},
		{[]string{"sheet", "--text", "--width", "60", "-o", "a.txt", wiper}, "a.txt"},
		{[]string{"sheet", "--blank", "valves", "--markdown", "-o", "b.md"}, "b.md"},
		{[]string{"sheet", "--blank", "valves", "--text", "-o", "b.txt"}, "b.txt"},
	} {
		for _, did := range []string{"Wrote ", "Wrote anew "} {
			out, errOut, code := run(t, c.args...)
			require.Zero(t, code, errOut)
			assert.True(t, strings.HasPrefix(out, did+c.file+". Next: open it"), "%v: %s", c.args, out)
			assert.Contains(t, out, "print it")
		}
		const mine = "JOB SHEET. Of my own.\n"
		require.NoError(t, os.WriteFile(c.file, []byte(mine), 0o644))
		out, errOut, code := run(t, c.args...)
		assert.Equal(t, exitFile, code)
		assert.Empty(t, out)
		assert.Contains(t, errOut, c.file+" is there and is no sheet that telltale wrote; it is left as it is. Name another file with -o")
		left, err := os.ReadFile(c.file)
		require.NoError(t, err)
		assert.Equal(t, mine, string(left))
	}
}

// A page of the case that was saved as its file is no sheet, and a case is never
// written over by its own sheet.
func TestWhatIsNoSheet(t *testing.T) {
	triage, _, code := demo(t, "triage", "--full", filepath.Join(root, "cases/wiper-again.yaml"))
	require.Zero(t, code)
	assert.False(t, isSheet([]byte(triage)))
	assert.False(t, isSheet([]byte("<!DOCTYPE html>\n<title>JOB SHEET. A page of ours</title>")))
	assert.False(t, isSheet([]byte("pump: {action: triplex-single-acting}")))
	t.Chdir(t.TempDir())
	require.NoError(t, os.WriteFile("pump.html", []byte(goodCase), 0o644))
	_, errOut, code := run(t, "sheet", "pump.html")
	assert.Equal(t, exitUsage, code)
	assert.Contains(t, errOut, "the sheet would take the place of the case itself")
}

// A huge file, or a device without an end, is not read through.
func TestASheetReadsNoHugeFile(t *testing.T) {
	huge := filepath.Join(t.TempDir(), "huge.html")
	require.NoError(t, os.WriteFile(huge, nil, 0o600))
	require.NoError(t, os.Truncate(huge, 1<<36))
	for _, file := range []string{huge, os.DevNull} {
		sheet, err := holdsSheet(file)
		require.NoError(t, err)
		assert.False(t, sheet, file)
	}
}
