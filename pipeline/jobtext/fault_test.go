package jobtext

import (
	"context"
	"errors"
	"fmt"
	"testing"
)

// TestFault: a person reads no words of Go's where a command was ended.
func TestFault(t *testing.T) {
	const then = "; jobs go on as they are, `tracewheel jobs` lists them"
	for _, c := range []struct {
		err  error
		want string
	}{
		{context.Canceled, "interrupted before it was done" + then},
		{fmt.Errorf("reading job 1: %w", context.Canceled), "interrupted before it was done (reading job 1)" + then},
		{fmt.Errorf("copying a.svg: %w; the copy is not whole", context.Canceled), "copying a.svg: it was interrupted; the copy is not whole"},
		{fmt.Errorf("asking the cutter: %w", context.DeadlineExceeded), "asking the cutter: it took too long"},
		{errors.New("there is no job 3"), "there is no job 3"},
	} {
		if got := Fault(c.err); got != c.want {
			t.Errorf("%q instead of %q", got, c.want)
		}
	}
}
