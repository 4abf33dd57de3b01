package main

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"tracewheel/config"
	"tracewheel/pipeline"
	"tracewheel/pipeline/control"
)

// bedClear shows the cautions before a cutter moves and wants a person's word, by flag or on a
// terminal. It gives what was said, "" for a device without a blade.
func (a *app) bedClear(ctx context.Context, id int64, flag bool) (string, error) {
	return a.word(ctx, id, flag, pipeline.BedClear, "--bed-clear", pipeline.NeedsBedClear)
}

// notShifted is the same before a blade goes in again.
func (a *app) notShifted(ctx context.Context, id int64, flag bool, from string) error {
	_, err := a.word(ctx, id, flag, pipeline.NotShifted, "--not-shifted",
		func(ctx context.Context, room *config.Workroom, id int64) (bool, error) {
			return pipeline.NeedsNotShifted(ctx, room, id, from)
		})
	return err
}

func (a *app) word(ctx context.Context, id int64, flag bool, what, name string,
	needed func(context.Context, *config.Workroom, int64) (bool, error)) (string, error) {
	room, err := a.room(false)
	if err != nil {
		return "", err
	}
	needs, err := needed(ctx, room, id)
	if err != nil || !needs {
		return "", err
	}
	for _, c := range pipeline.Cautions() {
		fmt.Fprintf(a.err, "caution: %s\n", c)
	}
	if flag || a.confirm("is it so that "+what+"?") {
		return what, nil
	}
	return "", &control.Refusal{Text: fmt.Sprintf("job %d moves a cutter: look whether %s", id, what), Hint: "then say so with " + name}
}

func bedFlag(c *cobra.Command, into *bool) {
	c.Flags().BoolVar(into, "bed-clear", false, "on a cutter: say that "+pipeline.BedClear)
}

func (a *app) dryCmd() *cobra.Command {
	return a.toolUpCmd("dry JOB", control.ToolUpDry, "run a waiting job with the tool up", "  tracewheel dry 12\n  tracewheel dry 12 --bed-clear")
}

func (a *app) boundsCmd() *cobra.Command {
	return a.toolUpCmd("bounds JOB", control.ToolUpBounds, "go once round a waiting job's bounds with the tool up", "  tracewheel bounds 12 --bed-clear")
}

func (a *app) toolUpCmd(use, how, short, example string) *cobra.Command {
	var clear bool
	c := a.act(use, short, example, func(ctx context.Context, c *control.Client, id int64) error {
		said, err := a.bedClear(ctx, id, clear)
		if err != nil {
			return err
		}
		n, err := c.ToolUp(ctx, id, how, said)
		if err != nil {
			return err
		}
		a.done("job %d moves with the tool up; job %d is held until you release it", n, id)
		return nil
	})
	c.Long = "The trial is a job of its own, and the one that it tries is held meanwhile. The head moves: keep hands and cords away. It is no proof that the bed is clear, and the machine's manual and local rules come first."
	bedFlag(c, &clear)
	return c
}
