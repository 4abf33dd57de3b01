//go:build unix

package hooks

import (
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"syscall"
)

// mine refuses a file that somebody beside this user and root can write or replace: it, and each folder above it, must
// belong to one of them and be writable by neither group nor others. A folder with the sticky bit lets nobody replace what
// is another's (chmod(2)). Access control lists show in the group's bits (acl(5)).
func mine(file string) error {
	path, err := filepath.Abs(file)
	if err == nil {
		path, err = filepath.EvalSymlinks(path)
	}
	if err != nil {
		return err
	}
	for at := path; ; at = filepath.Dir(at) {
		info, err := os.Lstat(at)
		if err != nil {
			return err
		}
		owner, known := info.Sys().(*syscall.Stat_t)
		if !known || owner.Uid != 0 && int(owner.Uid) != os.Geteuid() {
			return fmt.Errorf("%q belongs to another user, who could have programs run by it", at)
		}
		if info.Mode().Perm()&0o022 != 0 && !(info.IsDir() && info.Mode()&fs.ModeSticky != 0) {
			return fmt.Errorf("others can write %q, and could have programs run by it: chmod go-w takes that from them", at)
		}
		if at == filepath.Dir(at) {
			return nil
		}
	}
}

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
