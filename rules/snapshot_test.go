package rules

import (
	"flag"
	"os"
	"reflect"
	"testing"

	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "write the snapshot of the built-in book anew")

// TestSnapshot holds the snapshot against the YAML files: whoever reads it
// gets the same book to the last bit, and its conditions compile.
func TestSnapshot(t *testing.T) {
	read, err := Load(BuiltInFiles(), BuiltInDir)
	require.NoError(t, err)
	digest, err := digestOf(BuiltInFiles())
	require.NoError(t, err)
	require.Equal(t, digest, read.Digest, "one way to tell the files, two results")
	eachCondition(reflect.ValueOf(read), func(c *Condition) { c.program = nil })
	kept := fromSnapshot(snapshot, digest)
	if *update && !reflect.DeepEqual(read, kept) {
		data, err := writeSnapshot(read)
		require.NoError(t, err)
		require.NoError(t, os.WriteFile("book.snapshot", data, 0o644))
		kept = fromSnapshot(data, digest)
	}
	require.True(t, reflect.DeepEqual(read, kept), "the snapshot is not what the files say; go test ./rules -update writes it anew")
	eachCondition(reflect.ValueOf(kept), func(c *Condition) { require.NotPanics(t, func() { c.compiled() }) })
}

// TestSnapshotIsRefused: a snapshot of other files, a cut one and none at all
// are not used.
func TestSnapshotIsRefused(t *testing.T) {
	read, err := Load(BuiltInFiles(), BuiltInDir)
	require.NoError(t, err)
	data, err := writeSnapshot(read)
	require.NoError(t, err)
	require.NotNil(t, fromSnapshot(data, read.Digest))
	require.Nil(t, fromSnapshot(data, "000000000000"))
	require.Nil(t, fromSnapshot(data[:len(data)/2], read.Digest))
	require.Nil(t, fromSnapshot(nil, read.Digest))
}

// eachCondition calls f for each condition of a book.
func eachCondition(v reflect.Value, f func(*Condition)) {
	if v.Type() == reflect.TypeFor[*Condition]() {
		if !v.IsNil() {
			f(v.Interface().(*Condition))
		}
		return
	}
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() {
			eachCondition(v.Elem(), f)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() {
				eachCondition(v.Field(i), f)
			}
		}
	case reflect.Slice:
		for i := range v.Len() {
			eachCondition(v.Index(i), f)
		}
	}
}
