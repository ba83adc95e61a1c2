package cli

import (
	"bytes"
	"encoding/json"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"telltale/engine/chances"
	"telltale/evidence"
	"telltale/rules"
)

// BenchmarkTriage is the whole command in one process, the book loaded once.
func BenchmarkTriage(b *testing.B) {
	for _, name := range []string{"wiper-again", "two-faults", "tank-short", "duplex-valve"} {
		b.Run("case="+name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if code := Main([]string{"triage", filepath.Join(root, "cases", name+".yaml")}, strings.NewReader(""), io.Discard, io.Discard); code != 0 {
					b.Fatal("exit code ", code)
				}
			}
		})
	}
}

// ordinary draws cases as a contractor's office would send them, one a line: one
// hidden cause of the built-in book at one place, and one to six findings of the signs
// that it shows, one in five of them absent.
func ordinary(b *testing.B, n int) []byte {
	b.Helper()
	book, err := rules.BuiltIn()
	if err != nil {
		b.Fatal(err)
	}
	r, out := rand.New(rand.NewPCG(6, 1)), bytes.Buffer{}
	for i := range n {
		action := evidence.Actions()[r.IntN(len(evidence.Actions()))]
		state := evidence.PumpStates()[r.IntN(len(evidence.PumpStates()))]
		k := &evidence.Case{Pump: evidence.Pump{
			Layout: evidence.Layout{Action: evidence.Action(action), Cylinders: evidence.DefaultCylinders(evidence.Action(action))},
			State:  evidence.PumpState(state), Rotation: evidence.RotationUnknown,
		}}
		causes, found := chances.New(book, k).Causes, map[string]any{}
		for most := 1 + i%6; len(found) == 0; {
			hidden := causes[r.IntN(len(causes))]
			for _, link := range hidden.Cause.LinksFor(k, book) {
				sign := book.Signs.Get(link.Sign)
				at := k.Pump.Under(hidden.Place, sign.Level)
				if len(found) == most || !sign.When.HoldsForPump(&k.Pump) || len(at) == 0 || r.Float64() > link.Total {
					continue
				}
				answer := "present"
				if kinds := sign.KindIDs(); len(kinds) > 0 {
					answer = kinds[r.IntN(len(kinds))]
				}
				if r.IntN(5) == 0 {
					answer = "absent"
				}
				if place := at[r.IntN(len(at))]; place == (evidence.Place{}) {
					found[sign.ID] = answer
				} else {
					found[sign.ID] = map[string]string{place.String(): answer}
				}
			}
		}
		line, err := json.Marshal(map[string]any{"id": i, "pump": map[string]any{"action": action, "state": state}, "findings": found})
		if err != nil {
			b.Fatal(err)
		}
		out.Write(append(line, '\n'))
	}
	return out.Bytes()
}

// BenchmarkMany sends ordinary cases through triage --many, on as many cores as -cpu
// gives; cases/s/core is what counts. TELLTALE_LINES names a file that keeps the lines,
// for the command itself.
func BenchmarkMany(b *testing.B) {
	const many = 1000
	stream := ordinary(b, many)
	if file := os.Getenv("TELLTALE_LINES"); file != "" {
		if err := os.WriteFile(file, stream, 0o644); err != nil {
			b.Fatal(err)
		}
	}
	for b.Loop() {
		var out, errors bytes.Buffer
		// A drawn case may be impossible.
		if code := Main([]string{"triage", "--many"}, bytes.NewReader(stream), &out, &errors); code != exitDone && code != exitBadInput {
			b.Fatal("exit code ", code, ": ", errors.String())
		}
		if bad := bytes.Count(out.Bytes(), []byte(`"errors"`)); bad > many/20 {
			b.Fatal(bad, " cases had errors: ", out.String())
		}
	}
	b.ReportMetric(float64(many*b.N)/b.Elapsed().Seconds()/float64(runtime.GOMAXPROCS(0)), "cases/s/core")
}
