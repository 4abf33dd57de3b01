package control

import (
	"context"
	"errors"
	"fmt"
	"net"
	"os"
	"path/filepath"
)

// A socket's path may have 107 bytes here, a store's may be longer. The folder is therefore opened
// and named by its descriptor, which is always short.

func listen(path string) (net.Listener, error) {
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

// linked is a listener that removes its socket by the long name, unless another's stands there by now.
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

func dial(ctx context.Context, path string) (net.Conn, error) {
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
