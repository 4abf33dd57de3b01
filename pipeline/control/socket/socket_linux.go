// Package socket opens a local socket and connects to one. It takes a path, and gives a listener or a connection, and
// the login name of the user at the other end where the system tells it.
package socket

import (
	"context"
	"errors"
	"fmt"
	"net"
	"os"
	"os/user"
	"path/filepath"
	"strconv"

	"golang.org/x/sys/unix"
)

// Peer is the login name of the user at the other end, as the kernel noted it when the connection was
// made (unix(7), SO_PEERCRED); a user without a name is told by number.
func Peer(c net.Conn) string {
	u, is := c.(*net.UnixConn)
	if !is {
		return ""
	}
	raw, err := u.SyscallConn()
	if err != nil {
		return ""
	}
	var cred *unix.Ucred
	var cerr error
	if err := raw.Control(func(fd uintptr) {
		cred, cerr = unix.GetsockoptUcred(int(fd), unix.SOL_SOCKET, unix.SO_PEERCRED)
	}); err != nil || cerr != nil {
		return ""
	}
	id := strconv.FormatUint(uint64(cred.Uid), 10)
	if who, err := user.LookupId(id); err == nil {
		return who.Username
	}
	return "number " + id
}

// A socket's path may have 107 bytes on this system, and a store's path may be longer. The folder is therefore opened
// and addressed by its descriptor, which is always short.

func Listen(path string) (net.Listener, error) {
	d, short, err := byDescriptor(path)
	if err != nil {
		return nil, err
	}
	defer func() { _ = d.Close() }()
	ln, err := net.ListenUnix("unix", &net.UnixAddr{Name: short, Net: "unix"})
	if err != nil {
		return nil, err
	}
	// The short name is void once the descriptor is closed, so the library could not remove it.
	ln.SetUnlinkOnClose(false)
	made, err := os.Lstat(path)
	if err != nil {
		return nil, errors.Join(err, ln.Close())
	}
	return &linked{ln, path, made}, nil
}

// linked is a listener that removes its socket by the long path when it is closed, unless another program's socket is
// there by now.
type linked struct {
	*net.UnixListener
	path string
	made os.FileInfo
}

func (l *linked) Close() error {
	if there, err := os.Lstat(l.path); err == nil && os.SameFile(l.made, there) {
		_ = os.Remove(l.path)
	}
	return l.UnixListener.Close()
}

func Dial(ctx context.Context, path string) (net.Conn, error) {
	d, short, err := byDescriptor(path)
	if err != nil {
		return nil, err
	}
	defer func() { _ = d.Close() }()
	return (&net.Dialer{}).DialContext(ctx, "unix", short)
}

func byDescriptor(path string) (*os.File, string, error) {
	d, err := os.Open(filepath.Dir(path))
	if err != nil {
		return nil, "", err
	}
	return d, fmt.Sprintf("/proc/self/fd/%d/%s", d.Fd(), filepath.Base(path)), nil
}
