package jobtext

import (
	"context"
	"strings"
)

// Fault are the words of an error, without Go's for a command that a person or a limit ended.
func Fault(err error) string {
	text := err.Error()
	if doing, ended := strings.CutSuffix(text, context.Canceled.Error()); ended {
		if doing = strings.TrimSuffix(doing, ": "); doing != "" {
			doing = " (" + doing + ")"
		}
		return "interrupted before it was done" + doing + "; jobs go on as they are, `tracewheel jobs` lists them"
	}
	return strings.NewReplacer(context.Canceled.Error(), "it was interrupted", context.DeadlineExceeded.Error(), "it took too long").Replace(text)
}
