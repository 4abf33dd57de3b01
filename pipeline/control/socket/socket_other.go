//go:build !linux

// Package socket opens and reaches a local socket, and tells the login of who speaks on it where the system does.
package socket

import (
	"context"
	"fmt"
	"net"
)

// pathLimit is what every system takes as the path of a socket.
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

// Peer is not told here.
func Peer(net.Conn) string { return "" }
