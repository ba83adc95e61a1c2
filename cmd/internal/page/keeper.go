package page

import (
	"bytes"
	"fmt"
	"io"

	"telltale/cmd/internal/words"
	"telltale/engine/prove"
	"telltale/rules"
)

// Remarks writes the remarks on a rulebook and gives how many are not
// explained.
func Remarks(w io.Writer, b *rules.Book, remarks []rules.Remark) (open int, err error) {
	var out bytes.Buffer
	for _, r := range remarks {
		if r.Accepted != "" {
			fmt.Fprintf(&out, "%s: %s: %s. Explained: %s\n", r.Pos, r.Kind, r.Message, r.Accepted)
			continue
		}
		open++
		fmt.Fprintf(&out, "%s: %s: %s\n", r.Pos, r.Kind, r.Message)
	}
	fmt.Fprintf(&out, "%d causes, %d signs, %d checks: no errors, %d remarks, %d of them explained\n",
		len(b.Causes.List), len(b.Signs.List), len(b.Checks.List), len(remarks), len(remarks)-open)
	_, err = w.Write(out.Bytes())
	return open, err
}

// Proved writes what the proving cases showed.
func Proved(w io.Writer, b *rules.Book, s *prove.Suite, o prove.Outcome) error {
	var out bytes.Buffer
	for _, f := range o.Failures {
		fmt.Fprintf(&out, "%s: %s: %s\n", f.Pos, f.Proof, f.Message)
		for _, r := range words.Weights(f.Found, f.Reasons) {
			fmt.Fprintf(&out, "    %s  %s\n", decibans(r.Decibans), r.Text)
		}
	}
	for _, id := range o.NeverFirst {
		fmt.Fprintf(&out, "not covered: no proof brings the cause %s first\n", id)
	}
	for _, id := range o.Unused {
		fmt.Fprintf(&out, "not covered: no proof exercises the fact %s\n", id)
	}
	fmt.Fprintf(&out, "%d proofs: %d expectations hold, %d fail\n", o.Proofs, o.Held, len(o.Failures))
	fmt.Fprintf(&out, "coverage: %d of %d causes come first in a proof, %d of %d facts are exercised\n",
		len(b.Causes.List)-len(o.NeverFirst), len(b.Causes.List), len(s.Facts)-len(o.Unused), len(s.Facts))
	fmt.Fprintln(&out, "This is no measure of accuracy: the cases and the figures come from the same people.")
	_, err := w.Write(out.Bytes())
	return err
}
