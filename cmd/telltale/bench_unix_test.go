//go:build unix

package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"
)

// BenchmarkCommand runs the program as somebody starts it, on one core, and tells the
// median of its processor time (user and system) and the most memory that it held.
func BenchmarkCommand(b *testing.B) {
	cases, err := filepath.Abs(filepath.Join("..", "..", "testdata", "cases"))
	if err != nil {
		b.Fatal(err)
	}
	for _, c := range []struct {
		name, in string
		args     []string
	}{
		{name: "version", args: []string{"--version"}},
		{name: "triage", args: []string{"triage", filepath.Join(cases, "wiper-again.yaml")}},
		{name: "triage-held-back", args: []string{"triage", filepath.Join(cases, "pit-gain.yaml")}},
		{name: "hear", in: "Wiper on two leaks again a week after we changed it, 1 and 3 are dry. No knock. Pressure's down 400 psi, I reckon it's the dampener", args: []string{"hear", "--action", "triplex-single-acting"}},
		{name: "rig-of-20-pumps-500-jobs-each", args: []string{"rig", largeRig(b), "--on", "2026-06-01"}},
	} {
		b.Run(c.name, func(b *testing.B) {
			path, err := build()
			if err != nil {
				b.Fatal(err)
			}
			var took []time.Duration
			most := int64(0)
			for b.Loop() {
				run := exec.Command(path, c.args...)
				var says bytes.Buffer
				run.Env, run.Stdin, run.Stdout = append(os.Environ(), "GOMAXPROCS=1"), strings.NewReader(c.in), &says
				if err := run.Run(); err != nil {
					b.Fatal(err)
				}
				if bytes.Contains(says.Bytes(), []byte("CANNOT BE USED")) {
					b.Fatal(says.String())
				}
				took = append(took, run.ProcessState.UserTime()+run.ProcessState.SystemTime())
				most = max(most, int64(run.ProcessState.SysUsage().(*syscall.Rusage).Maxrss))
			}
			if runtime.GOOS == "darwin" { // counts bytes
				most /= 1024
			}
			slices.Sort(took)
			b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "median-cpu-ms")
			b.ReportMetric(float64(most)/1024, "peak-MiB")
		})
	}
}

// largeRig makes an invented rig of twenty pumps with five hundred closed jobs each.
func largeRig(b *testing.B) string {
	b.Helper()
	dir := b.TempDir()
	put := func(name, text string) {
		path := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			b.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			b.Fatal(err)
		}
	}
	for p := range 20 {
		name := fmt.Sprintf("pump-%d", p+1)
		put("pumps/"+name+".yaml", "pump: {name: "+name+", action: triplex-single-acting}\n")
		for j := range 500 {
			date := time.Date(2020, 1, 1+j, 0, 0, 0, 0, time.UTC).Format(time.DateOnly)
			put("jobs/"+date+"-"+name+".yaml", fmt.Sprintf("job: {pump: %s, date: %s, hours: %d h, closed: %s}\npump: {state: running}\nfindings: {wiper-leaks: {2: present}}\nchanged: [{part: piston, at: 2}]\n", name, date, 1500+20*j, date))
		}
	}
	return dir
}
