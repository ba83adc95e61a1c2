//go:build unix

package record

import (
	"os"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A file with a second name is not written: the other name would keep the old text.
func TestAFileWithASecondNameIsLeftAlone(t *testing.T) {
	path := write(t, triplex)
	require.NoError(t, os.Link(path, path+".second"))
	_, err := open(t, path).Write(SetFinding("knock", "once"))
	var unkept *UnkeptError
	require.ErrorAs(t, err, &unkept)
	assert.ErrorContains(t, err, "hard link")
	assert.Equal(t, triplex, read(t, path))
	require.NoError(t, os.Remove(path+".second"))
	_, err = open(t, path).Write(SetFinding("knock", "once"))
	require.NoError(t, err)
	onlyFile(t, path)
}

// Whoever writes, the file stays its owner's. Only who may give files away can be tried
// here.
func TestAFileStaysItsOwners(t *testing.T) {
	if os.Getuid() != 0 {
		t.Skip("this user cannot give a file to another")
	}
	path := write(t, triplex)
	require.NoError(t, os.Chown(path, 65534, 65533))
	require.NoError(t, os.Chmod(path, 0o640))
	_, err := open(t, path).Write(SetFinding("knock", "once"))
	require.NoError(t, err)
	info, err := os.Stat(path)
	require.NoError(t, err)
	owner := info.Sys().(*syscall.Stat_t)
	assert.EqualValues(t, 65534, owner.Uid)
	assert.EqualValues(t, 65533, owner.Gid)
	assert.EqualValues(t, 0o640, info.Mode().Perm())
}

// A claim that somebody takes away guards nothing: then nothing is written. The lock alone
// is not needed for it.
func TestAClaimThatIsTakenAwayGuardsNothing(t *testing.T) {
	for _, left := range []string{"claim", "lock"} {
		f := open(t, write(t, triplex))
		f.steps = func(step string) error {
			if step == "rename" {
				return os.Remove(f.beside(left))
			}
			return nil
		}
		_, err := f.Write(SetFinding("knock", "once"))
		if left == "lock" {
			require.NoError(t, err)
			assert.Contains(t, read(t, f.Name()), "knock: once")
		} else {
			var busy *BusyError
			require.ErrorAs(t, err, &busy)
			assert.Equal(t, triplex, read(t, f.Name()))
		}
		onlyFile(t, f.Name())
	}
}
