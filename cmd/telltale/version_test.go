package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What is built in a clone says the revision that it was built from; what is built
// beside no history says that it does not know.
func TestTheBuiltProgramSaysItsRevision(t *testing.T) {
	says, err := exec.Command(built(t), "--version").Output()
	require.NoError(t, err)
	revision, err := exec.Command("git", "rev-parse", "HEAD").Output()
	history, missing := os.Stat(filepath.Join("..", "..", ".git"))
	if err != nil || missing != nil || !history.IsDir() { // of a second worktree go build knows nothing
		assert.Contains(t, string(says), "\nVersion: not known. ")
		return
	}
	assert.Contains(t, string(says), "\nRevision: "+strings.TrimSpace(string(revision))+", ")
}
