package main

import (
	"bytes"
	"cmp"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// pictureOfServe is the picture of the page of a case that README shows, and
// mostOfPicture its bounds in bytes.
const (
	pictureOfServe = "testdata/serve.png"
	mostOfPicture  = 60_000
)

// README shows its picture with words for whoever does not see it.
func TestREADMEHasItsPicture(t *testing.T) {
	text, err := os.ReadFile(filepath.Join(repository, "README.md"))
	require.NoError(t, err)
	assert.Regexp(t, `!\[[^\]]{40,}\]\(`+pictureOfServe+`\)`, string(text))
	picture, err := os.ReadFile(filepath.Join(repository, pictureOfServe))
	require.NoError(t, err)
	assert.Less(t, len(picture), mostOfPicture)
	size, err := png.DecodeConfig(bytes.NewReader(picture))
	require.NoError(t, err)
	assert.Equal(t, windowOfPicture.width, int64(size.Width))
}

var windowOfPicture = size{"of the picture", 900, 720, 1}

// The picture is made of the page of a demo case by
//
//	TELLTALE_BROWSER=1 go test ./cmd/telltale -run TestThePictureIsMadeInABrowser -update
func TestThePictureIsMadeInABrowser(t *testing.T) {
	needsBrowser(t)
	dir := copied(t, "cases")
	w := newWindow(t, chromium(t), serving(t, dir), true)
	w.size(windowOfPicture)
	w.open(w.door)
	w.path("/job/wiper-again")
	shot := call(w, page.CaptureScreenshot, page.CaptureScreenshotParams{Format: page.CaptureScreenshotFormatPng})
	picture, err := png.Decode(bytes.NewReader(shot.Data))
	require.NoError(t, err)
	small := fewColours(t, picture)
	assert.Less(t, len(small), mostOfPicture)
	if *update {
		require.NoError(t, os.WriteFile(filepath.Join(repository, pictureOfServe), small, 0o644))
	}
}

// fewColours is a picture as a PNG of the colours that it has most of.
func fewColours(t *testing.T, picture image.Image) []byte {
	t.Helper()
	counts, at := map[color.Color]int{}, picture.Bounds()
	for y := at.Min.Y; y < at.Max.Y; y++ {
		for x := at.Min.X; x < at.Max.X; x++ {
			counts[picture.At(x, y)]++
		}
	}
	most := slices.SortedFunc(maps.Keys(counts), func(a, b color.Color) int {
		return cmp.Or(cmp.Compare(counts[b], counts[a]), cmp.Compare(fmt.Sprint(a), fmt.Sprint(b)))
	})
	small := image.NewPaletted(at, most[:min(len(most), 32)])
	draw.Draw(small, at, picture, at.Min, draw.Src)
	var out bytes.Buffer
	require.NoError(t, (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&out, small))
	return out.Bytes()
}
