package listen

import "syscall"

// apart keeps a Ctrl-C in this window from the browser.
func apart() *syscall.SysProcAttr {
	return &syscall.SysProcAttr{CreationFlags: syscall.CREATE_NEW_PROCESS_GROUP}
}
