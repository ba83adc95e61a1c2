package record

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"strings"
	"syscall"
	"time"
)

// A lock does not reach the other machine where the folder lies on a share without
// working locks. So whoever replaces a file claims it besides: the claim is a file that
// only one can make, and that says who did. It goes with the write. One that is left by a
// process that is gone is taken over at once; one of another machine when it has not
// changed for as long as no write takes.

// claimIsLeft is for how long a claim of another machine stands before it is taken over,
// unsaidIsLeft one that does not say yet whose it is.
const (
	claimIsLeft  = longestWait / 2
	unsaidIsLeft = claimIsLeft / 10
)

// noHost is a machine without a name: what it claims counts as another machine's.
const noHost = "?"

// claim is the right to replace a file.
type claim struct {
	f    *File
	says string
}

// newClaim says who claims. Each says something else.
func (f *File) newClaim() *claim {
	host, _ := os.Hostname()
	return &claim{f, fmt.Sprintf("%s %d %x\n", cmp.Or(strings.Join(strings.Fields(host), "-"), noHost), os.Getpid(), rand.Uint64())}
}

// claim takes the right to replace the file.
func (f *File) claim() (*claim, error) {
	c := f.newClaim()
	was, since := "", time.Now() // what stands, and since when
	for begun := since; time.Since(begun) < longestWait; time.Sleep(waitStep) {
		err := c.make()
		if !errors.Is(err, fs.ErrExist) {
			return c, err
		}
		says, err := f.claimed()
		if err != nil {
			return nil, err
		}
		if says != was {
			was, since = says, time.Now()
		}
		longest := claimIsLeft
		if says == "" {
			longest = unsaidIsLeft
		}
		if c.outlives(says) || time.Since(since) > longest {
			c.take(says)
		}
	}
	return nil, &BusyError{f.name}
}

func (c *claim) make() error {
	out, err := c.f.root.OpenFile(c.f.within(c.f.beside("claim")), os.O_WRONLY|os.O_CREATE|os.O_EXCL, newFile)
	if err != nil {
		return err
	}
	_, err = io.WriteString(out, c.says)
	if err = errors.Join(err, out.Close()); err != nil {
		_ = c.f.root.Remove(c.f.within(c.f.beside("claim")))
	}
	return err
}

// claimed reads the claim that stands, "" if there is none.
func (f *File) claimed() (string, error) {
	path := f.within(f.beside("claim"))
	info, err := f.root.Lstat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return "", nil
	}
	if err != nil {
		return "", err
	}
	if !info.Mode().IsRegular() {
		return "", &NotAFileError{f.beside("claim"), "in the way of the write and no ordinary file"}
	}
	text, err := f.root.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return "", nil
	}
	return string(text), err
}

// stands says whether a claim is the one that stands still.
func (c *claim) stands() bool {
	says, err := c.f.claimed()
	return err == nil && says == c.says
}

// outlives says whether a claim is of a process of this machine that is gone.
func (c *claim) outlives(says string) bool {
	var host, mine string
	var pid, me int
	if n, _ := fmt.Sscan(says, &host, &pid); n < 2 {
		return false // it is being written
	}
	if n, _ := fmt.Sscan(c.says, &mine, &me); n < 2 || host != mine || host == noHost {
		return false
	}
	process, err := os.FindProcess(pid)
	return err != nil || errors.Is(process.Signal(syscall.Signal(0)), os.ErrProcessDone)
}

// take takes a claim away that says this still.
func (c *claim) take(says string) {
	if now, err := c.f.claimed(); err == nil && now == says {
		_ = c.f.root.Remove(c.f.within(c.f.beside("claim")))
	}
}
