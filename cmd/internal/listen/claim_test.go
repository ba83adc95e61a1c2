package listen

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Whoever comes while a folder is claimed finds its server, with what it was started
// with; once it is given back the next one has it.
func TestAClaimedFolderIsFound(t *testing.T) {
	cache, s := t.TempDir(), serve(t, here)
	c, running, err := Take(cache, "/rig")
	require.NoError(t, err)
	require.Nil(t, running)
	require.NoError(t, c.Tell(s.Door, "a rulebook"))
	second, running, err := Take(cache, "/rig")
	require.NoError(t, err)
	assert.Nil(t, second)
	assert.Equal(t, &Running{Door: s.Door, With: "a rulebook"}, running)
	other, running, err := Take(cache, "/another rig")
	require.NoError(t, err)
	assert.Nil(t, running)
	require.NoError(t, other.Give())
	require.NoError(t, c.Give())
	c, running, err = Take(cache, "/rig")
	require.NoError(t, err)
	assert.Nil(t, running)
	require.NoError(t, c.Give())
}

// What was left by one that was killed, or half written, or written by somebody else,
// leads nobody anywhere: with the lock free it is thrown away.
func TestWhatWasLeftLeadsNowhere(t *testing.T) {
	cache := t.TempDir()
	c, _, err := Take(cache, "/rig")
	require.NoError(t, err)
	require.NoError(t, c.Give())
	door := Door{at: netip.MustParseAddrPort("127.0.0.1:9"), secret: newSecret()}
	require.NoError(t, c.Tell(door, ""))
	whole, err := os.ReadFile(c.state)
	require.NoError(t, err)
	for what, text := range map[string]string{
		"half":            string(whole[:len(whole)/2]),
		"nothing":         "",
		"another machine": strings.Replace(string(whole), "127.0.0.1", "192.168.1.7", 1),
	} {
		require.NoError(t, os.WriteFile(c.state, []byte(text), 0o600))
		assert.Nil(t, running(c.state), what)
	}
	require.NoError(t, os.WriteFile(c.state, whole, 0o600))
	require.NotNil(t, running(c.state))
	c, found, err := Take(cache, "/rig")
	require.NoError(t, err)
	assert.Nil(t, found)
	assert.NoFileExists(t, c.state)
	require.NoError(t, c.Give())
}

// Another program that has the port meanwhile is not taken for the server, and does not
// learn what would let it in for long.
func TestAnotherProgramAtTheDoor(t *testing.T) {
	secret, asked := newSecret(), ""
	var d Door
	another := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		asked = r.URL.String()
		http.SetCookie(w, &http.Cookie{Name: d.cookieName(), Value: "a guess"})
		w.WriteHeader(http.StatusSeeOther)
	}))
	defer another.Close()
	d = Door{at: netip.MustParseAddrPort(another.Listener.Addr().String()), secret: secret}
	assert.False(t, d.isOpen())
	assert.Contains(t, asked, secretName)
	assert.NotContains(t, asked, string(secret))
	s := serve(t, here)
	assert.True(t, s.isOpen())
	assert.False(t, Door{at: s.at, secret: secret}.isOpen())
	require.NoError(t, s.end())
	assert.False(t, s.isOpen())
}

// Where nothing can be kept, Take says why; the folder of what is kept is for nobody else.
func TestWhereNothingCanBeKept(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "file")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	_, _, err := Take(file, "/rig")
	assert.Error(t, err)
	require.NoError(t, os.Mkdir(filepath.Join(dir, "telltale"), 0o755))
	c, _, err := Take(dir, "/rig")
	require.NoError(t, err)
	defer func() { assert.NoError(t, c.Give()) }()
	info, err := os.Stat(filepath.Join(dir, "telltale"))
	require.NoError(t, err)
	if os.PathSeparator == '/' {
		assert.Equal(t, "drwx------", fmt.Sprint(info.Mode()))
	}
	var none *Claim
	assert.NoError(t, none.Tell(Door{}, ""))
	assert.NoError(t, none.Give())
}
