package practice

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func sample() []Record {
	wrong := Named{Cause: "valve-guide-worn"}
	return []Record{
		{Schema: 1, Level: 1, Causes: []string{"piston-worn"}, Named: []Named{{Cause: "piston-worn", Right: true}}, End: Solved, Minutes: 60, BestMinutes: 50, BestSolved: true, Corrections: 1, CorrectionsAsked: 1},
		{Schema: 1, Level: 1, Causes: []string{"suction-valve-cut"}, Named: []Named{wrong, {Cause: "suction-valve-cut", Right: true}}, End: Solved, Minutes: 140, BestMinutes: 50, BestSolved: true, Faults: 2, CorrectionsAsked: 2, Corrections: 1},
		{Schema: 1, Level: 3, Causes: []string{"suction-valve-cut", "piston-worn"}, Named: []Named{wrong}, End: GaveUp, Minutes: 30, BestMinutes: 100, Faults: 1, ShimsAsked: 1},
		{Schema: 1, Level: 2, Causes: []string{"kick"}, Named: []Named{}, End: Left, Minutes: 5, BestMinutes: 0, BestSolved: true, Shims: 1, ShimsAsked: 2},
	}
}

func TestRecordsAreAddedAndReadBack(t *testing.T) {
	path := filepath.Join(t.TempDir(), "me.jsonl")
	for _, r := range sample() {
		require.NoError(t, Append(os.OpenFile, path, r))
	}
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, 4, bytes.Count(text, []byte("\n")))
	records, damaged, err := ReadRecords(bytes.NewReader(text))
	require.NoError(t, err)
	assert.Empty(t, damaged)
	assert.Equal(t, sample(), records)
}

// A line that was cut off loses itself only: the next one begins a new line.
func TestADamagedLineIsToldAndSkipped(t *testing.T) {
	path := filepath.Join(t.TempDir(), "me.jsonl")
	require.NoError(t, Append(os.OpenFile, path, sample()[0]))
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(path, append(text, text[:40]...), 0o600))
	require.NoError(t, Append(os.OpenFile, path, sample()[1]))
	f, err := os.OpenFile(path, os.O_APPEND|os.O_WRONLY, 0)
	require.NoError(t, err)
	_, err = f.WriteString("\n[1]\n" + `{"schema":1,"level":7}` + "\n" + `{"schema":9}` + "\n" + `{"schema":1,"level":1,"causes":["x"],"minutes":-4}` + "\n" + `{"schema":1,"level":1,"causes":["x"],"shims_right":2}` + "\n")
	require.NoError(t, err)
	require.NoError(t, f.Close())
	require.NoError(t, Append(os.OpenFile, path, sample()[2]))
	text, err = os.ReadFile(path)
	require.NoError(t, err)
	records, damaged, err := ReadRecords(bytes.NewReader(text))
	require.NoError(t, err)
	assert.Equal(t, sample()[:3], records)
	var lines []int
	for _, d := range damaged {
		lines = append(lines, d.Line)
		assert.NotEmpty(t, d.Why)
	}
	assert.Equal(t, []int{2, 5, 6, 7, 8, 9}, lines)
}

func TestAFileThatCannotBeWrittenIsAnError(t *testing.T) {
	require.Error(t, Append(os.OpenFile, filepath.Join(t.TempDir(), "no", "me.jsonl"), sample()[0]))
	require.Error(t, Append(os.OpenFile, t.TempDir(), sample()[0]))
	require.Error(t, Appendable(os.OpenFile, t.TempDir()))
	_, _, err := ReadRecords(iotest.ErrReader(errors.New("the disk is gone")))
	require.Error(t, err)
}

// What holds something else, a case given by mistake, is none to add to.
func TestOnlyARecordIsAddedTo(t *testing.T) {
	dir := t.TempDir()
	for name, text := range map[string]string{"case.yaml": "pump: {action: triplex-single-acting}\n", "run.sh": "#!/bin/sh\necho\n"} {
		file := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(file, []byte(text), 0o600))
		assert.ErrorContains(t, Appendable(os.OpenFile, file), "holds no exercise", name)
		left, err := os.ReadFile(file)
		require.NoError(t, err)
		assert.Equal(t, text, string(left))
	}
	assert.NoError(t, Appendable(os.OpenFile, filepath.Join(dir, "new.jsonl")))
	assert.NoError(t, Appendable(os.OpenFile, filepath.Join(dir, "new.jsonl")), "empty")
}

// A line too long to be an exercise costs no memory and loses itself only; a
// file of nothing but such slips is given up in time.
func TestALongLineIsToldAndSkipped(t *testing.T) {
	path := filepath.Join(t.TempDir(), "me.jsonl")
	require.NoError(t, os.WriteFile(path, append(bytes.Repeat([]byte("\x00"), 3*longestRecord), '\n'), 0o600))
	require.NoError(t, Append(os.OpenFile, path, sample()[0]))
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	records, damaged, err := ReadRecords(bytes.NewReader(text))
	require.NoError(t, err)
	assert.Equal(t, sample()[:1], records)
	assert.Equal(t, []Damaged{{Line: 1, Why: "it is longer than 65536 bytes"}}, damaged)

	_, damaged, err = ReadRecords(strings.NewReader(strings.Repeat("x\n", 2*mostRecords)))
	assert.Error(t, err)
	assert.Len(t, damaged, mostRecords)
}

// The sums were worked out by hand: level 1 took 60 + 140 minutes against
// 50 + 50; the exercise that was given up and the one without minutes are not
// compared.
func TestProgressByHand(t *testing.T) {
	p := Sum(sample())
	assert.Equal(t, Tally{
		Level: 0, Exercises: 4, Solved: 3, RightFirst: 2, Faults: 3, WithFault: 2, Ratio: 2, Compared: 2,
		Corrections: 2, CorrectionsAsked: 3, Shims: 1, ShimsAsked: 3,
	}, p.All)
	require.Len(t, p.Levels, 3)
	assert.Equal(t, Tally{Level: 1, Exercises: 2, Solved: 2, RightFirst: 1, Faults: 2, WithFault: 1, Ratio: 2, Compared: 2, Corrections: 2, CorrectionsAsked: 3}, p.Levels[0])
	assert.Equal(t, Tally{Level: 2, Exercises: 1, Solved: 1, RightFirst: 1, Shims: 1, ShimsAsked: 2}, p.Levels[1])
	assert.Equal(t, Tally{Level: 3, Exercises: 1, Faults: 1, WithFault: 1, ShimsAsked: 1}, p.Levels[2])
	assert.Equal(t, []Confused{
		{Hidden: "suction-valve-cut", Named: "valve-guide-worn", Times: 2},
		{Hidden: "piston-worn", Named: "valve-guide-worn", Times: 1},
	}, p.Confused)
	assert.Equal(t, Progress{}, Sum(nil))
}

func FuzzReadRecords(f *testing.F) {
	f.Add([]byte(`{"schema":1,"level":1,"causes":["x"],"minutes":4}` + "\n{"))
	f.Add([]byte("\n\n\x00\xff{}"))
	f.Fuzz(func(t *testing.T, text []byte) {
		records, damaged, err := ReadRecords(bytes.NewReader(text))
		for _, r := range records {
			if why := r.valid(); why != "" {
				t.Fatalf("read %+v: %s", r, why)
			}
		}
		if err == nil && len(records)+len(damaged) > bytes.Count(text, []byte("\n"))+1 {
			t.Fatal("more exercises than lines")
		}
		Sum(records)
	})
}
