package listen

import (
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"net/netip"
	"os"
	"path/filepath"
	"time"

	"github.com/gofrs/flock"
)

// Claim is a folder that this process serves: its lock is held until it is given back,
// or the process ends, however it ends. What another process needs to come in stands
// beside the lock.
type Claim struct {
	lock  *flock.Flock
	state string
}

// Running is a server of the same folder that somebody started before.
type Running struct {
	Door
	With string // what it was started with, in words of its caller
}

// state is Running as it stands in its file.
type state struct {
	At     netip.AddrPort `json:"at"`
	Secret secret         `json:"secret"`
	With   string         `json:"with"`
}

const (
	claimWait = 15 * time.Second // for a server that starts or ends
	claimStep = 50 * time.Millisecond
)

// Take claims a folder, or finds the server that has it; only one of the two is given.
// The folder is compared as it is spelled, so links are to be resolved before. The
// error says why a second start would not find this one.
func Take(cache, folder string) (*Claim, *Running, error) {
	dir := filepath.Join(cache, "telltale")
	if err := private(dir); err != nil {
		return nil, nil, err
	}
	name := filepath.Join(dir, fmt.Sprintf("%x", sha256.Sum256([]byte(folder)))[:32])
	c := &Claim{lock: flock.New(name+".lock", flock.SetPermissions(0o600)), state: name + ".json"}
	for begun := time.Now(); time.Since(begun) < claimWait; time.Sleep(claimStep) {
		got, err := c.lock.TryLock()
		if err != nil {
			return nil, nil, err
		}
		if got {
			if err := os.Remove(c.state); err != nil && !errors.Is(err, fs.ErrNotExist) {
				return nil, nil, errors.Join(err, c.lock.Unlock())
			}
			return c, nil, nil
		}
		if r := running(c.state); r != nil && r.isOpen() {
			return nil, r, nil
		}
	}
	return nil, nil, fmt.Errorf("another telltale has the folder and does not answer (%s)", c.lock.Path())
}

// private makes a folder that nobody else may look into.
func private(dir string) error {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return err
	}
	return os.Chmod(dir, 0o700)
}

// running reads what a server wrote; nil if it has not written all of it yet.
func running(path string) *Running {
	text, err := os.ReadFile(path)
	var s state
	if err != nil || json.Unmarshal(text, &s) != nil || !s.At.Addr().IsLoopback() {
		return nil
	}
	return &Running{Door: Door{at: s.At, secret: s.Secret}, With: s.With}
}

// Tell writes where the server of this folder lets in. Without a claim nothing is told.
func (c *Claim) Tell(d Door, with string) error {
	if c == nil {
		return nil
	}
	text, err := json.Marshal(state{At: d.at, Secret: d.secret, With: with})
	if err != nil {
		return err
	}
	return os.WriteFile(c.state, text, 0o600)
}

// Give gives the folder back.
func (c *Claim) Give() error {
	if c == nil {
		return nil
	}
	err := os.Remove(c.state)
	if errors.Is(err, fs.ErrNotExist) {
		err = nil
	}
	return errors.Join(err, c.lock.Unlock())
}
