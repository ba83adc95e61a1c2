//go:build unix

package record

import (
	"io/fs"
	"os"
	"syscall"
)

// groupWrites is the mode in which a group may read and write.
const groupWrites fs.FileMode = 0o060

// names is how many names a file has.
func names(info fs.FileInfo) uint64 {
	if s, ok := info.Sys().(*syscall.Stat_t); ok {
		return uint64(s.Nlink)
	}
	return 1
}

// keepOwner gives a file the owner and the group of another. Where the system does not
// let it, the group alone does if it may read and write: then nobody loses the file.
func keepOwner(out *os.File, old fs.FileInfo) error {
	info, err := out.Stat()
	if err != nil {
		return err
	}
	is, ok := info.Sys().(*syscall.Stat_t)
	was, known := old.Sys().(*syscall.Stat_t)
	if !ok || !known || is.Uid == was.Uid && is.Gid == was.Gid {
		return nil
	}
	err = out.Chown(int(was.Uid), int(was.Gid))
	if err != nil && old.Mode()&groupWrites == groupWrites {
		return out.Chown(-1, int(was.Gid))
	}
	return err
}
