package listen

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"runtime"
	"time"
)

// browserWait is how long a browser may take to say that it cannot be opened.
const browserWait = 3 * time.Second

// errNoScreen is a machine that shows nothing by itself.
var errNoScreen = errors.New("there is no screen here to open a browser on")

// Browse opens the browser of this machine at an address. The browser outlives this
// process.
func Browse(address string) error {
	var command []string
	switch runtime.GOOS {
	case "windows":
		command = []string{"rundll32", "url.dll,FileProtocolHandler"}
	case "darwin":
		command = []string{"open"}
	default:
		if os.Getenv("DISPLAY") == "" && os.Getenv("WAYLAND_DISPLAY") == "" {
			return errNoScreen
		}
		command = []string{"xdg-open"}
	}
	browser := exec.Command(command[0], append(command[1:], address)...)
	browser.SysProcAttr = apart()
	if err := browser.Start(); err != nil {
		return err
	}
	ended := make(chan error, 1)
	go func() { ended <- browser.Wait() }()
	select {
	case err := <-ended:
		if err != nil {
			return fmt.Errorf("%s: %w", command[0], err)
		}
	case <-time.After(browserWait):
	}
	return nil
}
