package cli

import (
	"context"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// paper is a size of paper in points.
type paper struct {
	name          string
	width, height float64
}

var papers = []paper{{"A4", 595, 842}, {"letter", 612, 792}} // ISO 216; ANSI A

// Every demo case's sheet, and the blank ones, print on both papers: no word
// is cut off, none is smaller than 9 pt, no step is split over two pages, and
// the pages are not mostly empty. It needs chromium and pdftotext and takes
// long, so it runs only when TELLTALE_BROWSER is set.
func TestSheetsPrint(t *testing.T) {
	if os.Getenv("TELLTALE_BROWSER") == "" {
		t.Skip("set TELLTALE_BROWSER=1 to print the sheets with chromium")
	}
	for _, tool := range []string{"chromium", "pdftotext"} {
		if _, err := exec.LookPath(tool); err != nil {
			t.Fatalf("%s is not installed, and TELLTALE_BROWSER asks for it", tool)
		}
	}
	for name, page := range sheets(t) {
		if strings.HasSuffix(name, " align") && !strings.Contains(page, "<svg") || strings.HasSuffix(name, " output") {
			continue // nothing that the sheets do not have
		}
		for _, size := range papers {
			t.Run(name+" on "+size.name, func(t *testing.T) {
				t.Parallel()
				pages := printed(t, page, size)
				if strings.HasPrefix(name, "blank ") && !strings.HasPrefix(name, "blank all") {
					assert.LessOrEqual(t, pages, 2, "a form of one task is one sheet of paper, both sides")
				}
			})
		}
	}
}

// The steps of a page, with marks at both ends that printing keeps.
var article = regexp.MustCompile(`(?s)<article class="step">(.*?)</article>`)

// oneFont has a page set in the widest of its fonts, so that it is measured the
// same on every machine.
var oneFont = regexp.MustCompile(`Arial, Helvetica(, ["'][A-Za-z ]+["'])*, sans-serif`)

// printed holds a printed page against what paper needs, and gives how many pages it has.
func printed(t *testing.T, page string, size paper) int {
	page = oneFont.ReplaceAllString(page, "DejaVu Sans")
	steps := 0
	page = article.ReplaceAllStringFunc(page, func(step string) string {
		steps++
		inner := article.FindStringSubmatch(step)[1]
		return fmt.Sprintf(`<article class="step"><small>head%dhead</small>%s<small>foot%dfoot</small></article>`, steps, inner, steps)
	})
	page = strings.Replace(page, "@page {", "@page { size: "+size.name+";", 1)
	page = strings.Replace(page, "</h1>", "</h1><small>yardstick</small>", 1)
	page = strings.Replace(page, "</style>", "small { font-size: 9pt; }</style>", 1)
	pages := toPDF(t, page)
	require.NotEmpty(t, pages)
	at := map[string]int{}
	words := 0
	yardstick := heightOf(t, pages[0], "yardstick") // of a word of 9 pt in the font of this machine
	// A browser shrinks a page that is too wide. DejaVu Sans's line is 1.16 of its
	// size (measured).
	require.Greater(t, yardstick, 9*1.12, "the page is shrunk to fit")
	for n, p := range pages {
		assert.InDelta(t, size.width, p.Width, 2)
		assert.InDelta(t, size.height, p.Height, 2)
		for _, w := range p.Words {
			words++
			// 9 mm of paper stay free all round.
			assert.True(t, w.XMin > 25 && w.XMax < p.Width-25 && w.YMin > 25 && w.YMax < p.Height-15, "page %d: %q lies at the edge of the page: %+v", n+1, w.Text, w)
			assert.Greater(t, w.YMax-w.YMin, yardstick-0.15, "page %d: %q is small", n+1, w.Text)
			if strings.HasPrefix(w.Text, "head") || strings.HasPrefix(w.Text, "foot") {
				at[w.Text] = n
			}
		}
		if n < len(pages)-1 {
			assert.Greater(t, len(p.Words), 25, "page %d is nearly empty", n+1)
		}
	}
	for i := 1; i <= steps; i++ {
		head, foot := fmt.Sprintf("head%dhead", i), fmt.Sprintf("foot%dfoot", i)
		require.Contains(t, at, head)
		require.Contains(t, at, foot)
		assert.Equal(t, at[head], at[foot], "step %d is split over pages", i)
	}
	assert.LessOrEqual(t, len(pages), 4+words/110, "so few words on so many pages")
	assert.LessOrEqual(t, len(pages), 24)
	return len(pages)
}

// The sheet of an ordinary job has four pages at most, that of a long one six: one
// with looks at the running pump and an opened one, one that takes the piston out, or
// one with shims. Every page but
// the last is filled. The words are as wide as those of Arial, about.
func TestSheetsHaveFewPages(t *testing.T) {
	if os.Getenv("TELLTALE_BROWSER") == "" {
		t.Skip("set TELLTALE_BROWSER=1 to print the sheets with chromium")
	}
	files, err := filepath.Glob(filepath.Join(root, "cases/*.yaml"))
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, file := range append(files, filepath.Join(root, "rig/jobs/2026-10-24-pump-2-wiper.yaml"), filepath.Join(root, "rig/jobs/2026-10-25-pump-1-hiss.yaml"), filepath.Join(root, "rig/jobs/2026-10-26-pump-3-valve-right.yaml")) {
		to := filepath.Join(t.TempDir(), "sheet.html")
		_, errOut, code := run(t, "sheet", "-o", to, file)
		require.Zero(t, code, errOut)
		text, err := os.ReadFile(to)
		require.NoError(t, err)
		page := oneFont.ReplaceAllString(string(text), "'DejaVu Sans Condensed'")
		most := mostPages
		if opens := strings.Contains(page, "Open and look, behind the isolation"); opens && strings.Contains(page, "Look while the pump still runs") || strings.Contains(page, "Take the piston out") || strings.Contains(page, "The sums") {
			most = mostPagesLong
		}
		for _, size := range papers {
			t.Run(filepath.Base(file)+" on "+size.name, func(t *testing.T) {
				t.Parallel()
				pages := toPDF(t, strings.Replace(page, "@page {", "@page { size: "+size.name+";", 1))
				assert.LessOrEqual(t, len(pages), most)
				for n, p := range pages[:len(pages)-1] {
					assert.Greater(t, p.filled(), leastFilled, "page %d", n+1)
				}
			})
		}
	}
}

const (
	mostPages, mostPagesLong = 4, 6
	leastFilled              = 0.7
	footOf                   = 42 // points at the foot of a page that are no room
)

// filled is how far down a page the last word stands, its foot left out.
func (p pdfPage) filled() float64 {
	last := 0.0
	for _, w := range p.Words {
		if w.YMax < p.Height-footOf {
			last = max(last, w.YMax)
		}
	}
	return last / (p.Height - footOf)
}

// heightOf is the height of a word, which pdftotext makes as high as the line
// of its font.
func heightOf(t *testing.T, p pdfPage, text string) float64 {
	t.Helper()
	for _, w := range p.Words {
		if w.Text == text {
			return w.YMax - w.YMin
		}
	}
	t.Fatalf("no word %q on the page", text)
	return 0
}

// pdfPage is a page with its words as pdftotext sees them.
type pdfPage struct {
	Width  float64   `xml:"width,attr"`
	Height float64   `xml:"height,attr"`
	Words  []pdfWord `xml:"word"`
}

type pdfWord struct {
	XMin float64 `xml:"xMin,attr"`
	XMax float64 `xml:"xMax,attr"`
	YMin float64 `xml:"yMin,attr"`
	YMax float64 `xml:"yMax,attr"`
	Text string  `xml:",chardata"`
}

// toPDF prints a page with chromium and reads the words back.
func toPDF(t *testing.T, page string) []pdfPage {
	t.Helper()
	dir := t.TempDir()
	file, pdf := filepath.Join(dir, "page.html"), filepath.Join(dir, "page.pdf")
	require.NoError(t, os.WriteFile(file, []byte(page), 0o644))
	ctx, stop := context.WithTimeout(t.Context(), 60*time.Second)
	defer stop()
	out, err := exec.CommandContext(ctx, "chromium", "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
		"--disable-component-update", "--disable-sync", "--no-pdf-header-footer", "--user-data-dir="+filepath.Join(dir, "profile"), "--print-to-pdf="+pdf, "file://"+file).CombinedOutput()
	require.NoError(t, err, string(out))
	text, err := exec.CommandContext(ctx, "pdftotext", "-bbox", pdf, "-").Output()
	require.NoError(t, err)
	return readPages(t, string(text))
}

func readPages(t *testing.T, text string) []pdfPage {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(text))
	d.Entity = xml.HTMLEntity
	var out []pdfPage
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return out
		}
		require.NoError(t, err)
		if x, ok := token.(xml.StartElement); ok && x.Name.Local == "page" {
			var p pdfPage
			require.NoError(t, d.DecodeElement(&p, &x))
			out = append(out, p)
		}
	}
}

// TestWordsOfAPage keeps the reader of pdftotext's output honest where there
// is no browser.
func TestWordsOfAPage(t *testing.T) {
	pages := readPages(t, `<!DOCTYPE html><html><body><doc><page width="595.0" height="842.0"><word xMin="30.0" yMin="40.0" xMax="60.0" yMax="52.0">a&amp;b</word></page></doc></body></html>`)
	require.Len(t, pages, 1)
	assert.Equal(t, pdfWord{XMin: 30, YMin: 40, XMax: 60, YMax: 52, Text: "a&b"}, pages[0].Words[0])
	assert.Equal(t, "595", strconv.FormatFloat(pages[0].Width, 'f', -1, 64))
}
