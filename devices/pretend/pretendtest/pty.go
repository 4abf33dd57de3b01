// Package pretendtest gives tests the line of a pretend device.
package pretendtest

import (
	"errors"
	"testing"

	"tracewheel/devices/pretend"
)

// Pty is a pseudo-terminal. Only on a system that has none at all is the test skipped: one that cannot be
// opened fails it.
func Pty(t testing.TB) pretend.Link {
	t.Helper()
	link, err := pretend.NewPty()
	if errors.Is(err, errors.ErrUnsupported) {
		t.Skip(err)
	}
	if err != nil {
		t.Fatal(err)
	}
	return link
}
