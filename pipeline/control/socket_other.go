//go:build !linux

package control

import (
	"context"
	"fmt"
	"net"
)

// pathLimit is what every system takes as the path of a socket.
const pathLimit = 103

func listen(path string) (net.Listener, error) {
	if len(path) > pathLimit {
		return nil, fmt.Errorf("the path %q is longer than the %d bytes that a socket's may have: put the store at a shorter one", path, pathLimit)
	}
	return net.Listen("unix", path)
}

func dial(ctx context.Context, path string) (net.Conn, error) {
	return (&net.Dialer{}).DialContext(ctx, "unix", path)
}

// peer is not told here.
func peer(net.Conn) string { return "" }
