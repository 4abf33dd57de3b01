//go:build unix

package config

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
)

// mostLinks is how many links lead to a file at most, as the system has it (path_resolution(7)).
const mostLinks = 40

// Mine refuses a file that somebody beside this user and root can write or replace: it, each folder above it, and each
// link on the way with the folders above that, must belong to one of them and be writable by neither group nor others. A
// folder with the sticky bit lets nobody replace what is another's (chmod(2)). Access control lists show in the group's
// bits (acl(5)).
func Mine(file string) error {
	if !filepath.IsAbs(file) {
		dir, err := os.Getwd()
		if err != nil {
			return err
		}
		file = dir + "/" + file // not cleaned: where a folder is a link, its .. is another
	}
	at, rest, links := "/", strings.Split(file, "/"), 0
	for len(rest) > 0 {
		name := rest[0]
		rest = rest[1:]
		next := filepath.Join(at, name)
		info, err := os.Lstat(next)
		if err != nil {
			return err
		}
		owner, known := info.Sys().(*syscall.Stat_t)
		if !known || owner.Uid != 0 && int(owner.Uid) != os.Geteuid() {
			return fmt.Errorf("%q belongs to another user, who could have programs run by it", next)
		}
		if info.Mode()&fs.ModeSymlink == 0 {
			if info.Mode().Perm()&0o022 != 0 && !(info.IsDir() && info.Mode()&fs.ModeSticky != 0) {
				return fmt.Errorf("others can write %q, and could have programs run by it: chmod go-w takes that from them", next)
			}
			at = next
			continue
		}
		if links++; links > mostLinks {
			return errors.New("too many links lead to it")
		}
		to, err := os.Readlink(next)
		if err != nil {
			return err
		}
		if filepath.IsAbs(to) {
			at = "/"
		}
		rest = append(strings.Split(to, "/"), rest...)
	}
	return nil
}
