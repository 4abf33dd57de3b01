//go:build unix

package hooks

import (
	"os"
	"os/exec"
	"strconv"
	"syscall"
)

// closeInherited has what started the daemon and left descriptors open not reach a hook: those that the daemon opened
// itself are closed at an exec anyway.
func closeInherited() {
	open, err := os.ReadDir("/dev/fd")
	if err != nil {
		return // a system without it
	}
	for _, f := range open {
		if fd, err := strconv.Atoi(f.Name()); err == nil && fd > 2 {
			syscall.CloseOnExec(fd)
		}
	}
}

// ownGroup gives a program a process group of its own.
func ownGroup(c *exec.Cmd) { c.SysProcAttr = &syscall.SysProcAttr{Setpgid: true} }

// killGroup ends a program and what it started in its group.
func killGroup(c *exec.Cmd) error { return syscall.Kill(-c.Process.Pid, syscall.SIGKILL) }
