//go:build !linux

// Package socket opens a local socket and connects to one. It takes a path, and gives a listener or a connection, and
// the login name of the user at the other end where the system tells it.
package socket

import (
	"context"
	"fmt"
	"net"
)

// pathLimit is the most bytes of a socket's path that every system takes.
const pathLimit = 103

func Listen(path string) (net.Listener, error) {
	if len(path) > pathLimit {
		return nil, fmt.Errorf("the path %q is longer than the %d bytes that a socket's may have: put the store at a shorter one", path, pathLimit)
	}
	return net.Listen("unix", path)
}

func Dial(ctx context.Context, path string) (net.Conn, error) {
	return (&net.Dialer{}).DialContext(ctx, "unix", path)
}

// Peer gives no name on these systems.
func Peer(net.Conn) string { return "" }
