// Tracewheel carries garment drafts, true to size, onto paper and cloth: from a watched folder to a
// pen plotter or a drag-knife cutter.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"
	"syscall"

	"tracewheel/pipeline/control"
)

func main() { os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) }

// The exit statuses: 0 done; 1 the draft or the job is refused, or failed; 2 wrong usage or
// configuration.
const (
	exitRefused = 1
	exitUsage   = 2
)

// failure is an error with its exit status. An empty text prints nothing: all was said already.
type failure struct {
	status int
	err    error
}

func (f *failure) Error() string { return f.err.Error() }
func (f *failure) Unwrap() error { return f.err }

var errSaid = errors.New("")

func refused(err error) error { return &failure{exitRefused, err} }
func usage(err error) error   { return &failure{exitUsage, err} }

// run is main without the process around it, so that tests can call it.
func run(args []string, in io.Reader, out, errOut io.Writer) int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	a := &app{in: in, out: out, err: errOut, ctx: ctx}
	cmd := a.root()
	a.complete(cmd)
	cmd.SetArgs(args)
	cmd.SetIn(in)
	cmd.SetOut(out)
	cmd.SetErr(errOut)
	verb, err := cmd.ExecuteContextC(ctx)
	if err == nil {
		return 0
	}
	a.say(err)
	var f *failure
	if errors.As(err, &f) {
		return f.status
	}
	// The command line itself was not understood.
	fmt.Fprintf(errOut, "usage: %s (more by %s --help)\n", verb.UseLine(), verb.CommandPath())
	return exitUsage
}

// say prints an error once, each fault on its own line, and a hint where there is one.
func (a *app) say(err error) {
	text := err.Error()
	if text == "" {
		return
	}
	for _, line := range strings.Split(strings.TrimRight(text, "\n"), "\n") {
		fmt.Fprintf(a.err, "tracewheel: %s\n", line)
	}
	var r *control.Refusal
	if errors.As(err, &r) {
		for _, p := range r.Points {
			fmt.Fprintf(a.err, "  --from %-7s %s\n", p.From, p.Text)
		}
		if r.Hint != "" && !strings.Contains(text, r.Hint) {
			fmt.Fprintf(a.err, "hint: %s\n", r.Hint)
		}
	}
}
