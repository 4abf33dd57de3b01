// Package pretendtest gives tests the line of a pretend device.
package pretendtest

import (
	"errors"
	"testing"

	"tracewheel/devices/needs"
	"tracewheel/devices/pretend"
)

// Pty is a pseudo-terminal. Only on a system that has none at all is the test skipped: one that cannot be
// opened fails it.
func Pty(t testing.TB) pretend.Link {
	t.Helper()
	link, err := pretend.NewPty()
	needs.Right(t, !errors.Is(err, errors.ErrUnsupported), "this system has no pseudo-terminals")
	if err != nil {
		t.Fatal(err)
	}
	return link
}
