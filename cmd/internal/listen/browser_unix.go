//go:build unix

package listen

import "syscall"

// apart keeps a Ctrl-C in this terminal, and its end, from the browser.
func apart() *syscall.SysProcAttr { return &syscall.SysProcAttr{Setsid: true} }
