package cli

import (
	"runtime"
	"runtime/debug"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/rules"
)

func TestVersion(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	out, errOut, code := run(t, "--version")
	require.Zero(t, code, errOut)
	assert.Regexp(t, `\Atelltale`, out)
	assert.Contains(t, out, "\nRulebook: telltale built-in, version "+book.Version+", digest "+book.Digest+"\n")
	assert.Contains(t, out, "\nGo: "+runtime.Version())
	_, errOut, code = run(t, "triage", "--version")
	assert.Equal(t, exitUsage, code)
	assert.Contains(t, errOut, "triage has no option --version")
}

// What the build knows is said, and that it knows nothing.
func TestVersionOfABuild(t *testing.T) {
	const revision, at = "2d19127f0000000000000000000000000000abcd", "2026-03-01T10:30:00Z"
	build := func(version string, settings ...string) *debug.BuildInfo {
		info := &debug.BuildInfo{GoVersion: "go1.26.8", Main: debug.Module{Version: version}}
		for i := 0; i < len(settings); i += 2 {
			info.Settings = append(info.Settings, debug.BuildSetting{Key: settings[i], Value: settings[i+1]})
		}
		return info
	}
	const unknown = "telltale\nVersion: not known. The build was told no revision: go build in a clone tells it, go run does not"
	for name, c := range map[string]struct {
		info *debug.BuildInfo
		want string
	}{
		"nothing known":    {nil, unknown},
		"no history":       {build("(devel)"), unknown},
		"a release":        {build("v1.2.0"), "telltale v1.2.0"},
		"a clean checkout": {build("(devel)", "vcs.revision", revision, "vcs.time", at, "vcs.modified", "false"), "telltale\nRevision: " + revision + ", " + at},
		"changed since":    {build("v0.0.0-20260301103000-2d19127f0000+dirty", "vcs.revision", revision, "vcs.time", at, "vcs.modified", "true"), "telltale v0.0.0-20260301103000-2d19127f0000\nRevision: " + revision + ", " + at + ", and changes that stand in no revision"},
		"without a time":   {build("", "vcs.revision", revision), "telltale\nRevision: " + revision},
	} {
		assert.Equal(t, c.want, versionOf(c.info), name)
	}
	assert.Equal(t, "go1.26.8, windows/arm64", madeBy(build("", "GOOS", "windows", "GOARCH", "arm64")))
	assert.Equal(t, "go1.26.8", madeBy(build("")))
}
