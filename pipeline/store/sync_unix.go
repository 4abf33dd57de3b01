//go:build unix

package store

import (
	"os"
	"syscall"
)

// NoFollow and NoWait are flags of OpenFile: a link is not followed, a pipe not waited for.
const NoFollow, NoWait = syscall.O_NOFOLLOW, syscall.O_NONBLOCK

func syncDir(name string) error {
	d, err := os.Open(name)
	if err != nil {
		return err
	}
	err = d.Sync()
	if cerr := d.Close(); err == nil {
		err = cerr
	}
	return err
}
