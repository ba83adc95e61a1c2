package cli

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/pages"
	"telltale/engine"
)

// view says how a command writes its report: as text unless one of the others
// is chosen.
type view struct {
	json, markdown, html bool
	width                int
}

func (v *view) flags(cmd *cobra.Command) {
	cmd.Flags().BoolVar(&v.json, "json", false, "print everything as JSON")
	v.pageFlags(cmd)
}

// pageFlags is for what has no JSON.
func (v *view) pageFlags(cmd *cobra.Command) {
	cmd.Flags().BoolVar(&v.markdown, "markdown", false, "print as Markdown")
	cmd.Flags().IntVar(&v.width, "width", 0, widthHelp)
}

// htmlFlag is for pages with pictures.
func (v *view) htmlFlag(cmd *cobra.Command) {
	cmd.Flags().BoolVar(&v.html, "html", false, "print as one HTML file with pictures, for paper")
}

const widthHelp = "columns of the text, 60 to 160 (default: the terminal's, else 80)"

// check refuses views that exclude each other and widths that do not print.
func (v *view) check() error {
	if v.json && v.markdown {
		return usageError{errors.New("--json and --markdown exclude each other; choose one")}
	}
	if v.html && (v.json || v.markdown) {
		return usageError{errors.New("--html goes without --json and --markdown; choose one")}
	}
	return checkWidth(v.width)
}

func checkWidth(width int) error {
	if width != 0 && (width < doc.LeastWidth || width > doc.MostWidth) {
		return usageError{fmt.Errorf("--width is %d; expected %d to %d", width, doc.LeastWidth, doc.MostWidth)}
	}
	return nil
}

// write writes a report, as JSON or as the page that shows it.
func (v *view) write(w io.Writer, report any, page func() *doc.Document) error {
	if v.json {
		if err := writeJSON(w, report); err != nil {
			return fileError{err}
		}
		return nil
	}
	var text bytes.Buffer
	var err error
	switch {
	case v.markdown:
		err = page().Markdown(&text)
	case v.html:
		err = page().HTML(&text)
	default:
		err = page().Text(&text, width(w, v.width))
	}
	if err == nil {
		err = paged(w, text.Bytes())
	}
	if err != nil {
		return fileError{err}
	}
	return nil
}

// withStops has the stop conditions speak where a case cannot be weighed, and
// hands the reason on.
func (v *view) withStops(s streams, r *engine.Report, reason error) error {
	if err := pages.Stops(r).Text(s.err, width(s.err, v.width)); err != nil {
		return fileError{err}
	}
	return reason
}

// writeJSON writes a report as one indented JSON value.
func writeJSON(w io.Writer, report any) error {
	var text bytes.Buffer
	e := json.NewEncoder(&text)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	if err := e.Encode(report); err != nil {
		return err
	}
	_, err := w.Write(doc.EscapeJSON(text.Bytes()))
	return err
}
