package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"time"

	"github.com/spf13/cobra"

	"tracewheel/pipeline/demo"
)

func (a *app) demoCmd() *cobra.Command {
	var dir string
	var once bool
	c := &cobra.Command{
		Use: "demo", Short: "a made-up workroom with pretend machines: see the whole line at work", Args: cobra.NoArgs,
		Long:    "Demo makes the wardrobe room of an amateur theatre in a folder, starts a pretend plotter and a pretend cutter, drops good and bad drafts, and leaves pictures of what the machines drew from their bytes.",
		Example: "  tracewheel demo\n  tracewheel demo --once --dir /tmp/wardrobe",
		RunE:    func(*cobra.Command, []string) error { return a.demo(dir, once) },
	}
	c.Flags().StringVar(&dir, "dir", "", "the folder to make (default a new one among the temporary files)")
	c.Flags().BoolVar(&once, "once", false, "release the cutter's job itself and end when all jobs have ended")
	return c
}

// demoLimit ends a demo --once that hangs: its promise is to end by itself.
const demoLimit = 60 * time.Second

func (a *app) demo(dir string, once bool) error {
	if dir == "" {
		var err error
		if dir, err = os.MkdirTemp("", "tracewheel-demo-"); err != nil {
			return refused(err)
		}
	}
	d, err := demo.New(a.ctx, dir, a.out)
	if err != nil {
		return refused(err)
	}
	err = a.demoRuns(d, once)
	if err := errors.Join(err, d.Stop()); err != nil {
		return refused(err)
	}
	return nil
}

func (a *app) demoRuns(d *demo.Demo, once bool) error {
	fmt.Fprintf(a.out, "a made-up wardrobe room in %s\n", d.Room().Dir)
	if err := d.Drop(); err != nil {
		return err
	}
	if !once {
		if at := d.Entrance(); at != "" {
			fmt.Fprintf(a.out, "see it in a browser, within five minutes: %s\n", at)
		}
		fmt.Fprintln(a.out, "a cutter moves only when you release it, in another window; end with Ctrl-C")
	}
	hup := make(chan os.Signal, 1)
	notifyReload(hup)
	defer signal.Stop(hup)
	ctx := a.ctx
	go d.Reread(ctx, hup)
	if once {
		var cancel context.CancelFunc
		ctx, cancel = context.WithTimeout(ctx, demoLimit)
		defer cancel()
	}
	for {
		err := d.Watch(ctx, once)
		switch {
		case err == nil:
		case !once && a.ctx.Err() != nil: // a person has seen enough
		case errors.Is(err, context.DeadlineExceeded):
			return fmt.Errorf("the demo did not end within %s", demoLimit)
		default:
			return err
		}
		if err := d.Finish(context.WithoutCancel(a.ctx)); err != nil {
			return err
		}
		if once || a.ctx.Err() != nil {
			return nil
		}
		fmt.Fprintln(a.out, "the workroom goes on; drop drafts of your own, end with Ctrl-C")
	}
}
