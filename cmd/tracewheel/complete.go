package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"tracewheel/pipeline/jobtext"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/reading"
)

// completeJobs offers the jobs that a verb can do something with, the newest first.
func (a *app) completeJobs(c *cobra.Command, args []string, _ string) (out []cobra.Completion, _ cobra.ShellCompDirective) {
	if len(args) > 0 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	err := a.withLedger(func(led reading.Reader) error {
		if led == nil {
			return nil
		}
		jobs, err := led.Jobs(a.ctx, ledger.Filter{States: jobtext.Fitting[c.Name()], Newest: true, Limit: 50})
		for _, j := range jobs {
			out = append(out, cobra.CompletionWithDesc(fmt.Sprint(j.ID),
				printable(fmt.Sprintf("%s on %s, %s", j.File, j.Device, j.State.Plain()))))
		}
		return err
	})
	if err != nil {
		return nil, cobra.ShellCompDirectiveError
	}
	return out, cobra.ShellCompDirectiveNoFileComp | cobra.ShellCompDirectiveKeepOrder
}

// completeDevices offers the workroom's devices.
func (a *app) completeDevices(_ *cobra.Command, args []string, _ string) ([]cobra.Completion, cobra.ShellCompDirective) {
	if len(args) > 0 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	room, err := a.room(true)
	if err != nil {
		return nil, cobra.ShellCompDirectiveError
	}
	return room.DeviceNames(), cobra.ShellCompDirectiveNoFileComp
}

// complete gives each verb the completion of what its usage line names.
func (a *app) complete(root *cobra.Command) {
	for _, c := range root.Commands() {
		name, rest, _ := strings.Cut(c.Use, " ")
		switch {
		case c.ValidArgsFunction != nil || name == "completion" || name == "help":
		case strings.HasPrefix(rest, "JOB"):
			c.ValidArgsFunction = a.completeJobs
		case strings.HasPrefix(rest, "DEVICE"):
			c.ValidArgsFunction = a.completeDevices
		case rest == "":
			c.ValidArgsFunction = cobra.NoFileCompletions
		}
		a.complete(c)
	}
}

// deviceFlag adds --device with completion from the workroom.
func (a *app) deviceFlag(c *cobra.Command, into *string) {
	c.Flags().StringVar(into, "device", "", "a device of the workroom")
	_ = c.RegisterFlagCompletionFunc("device", func(c *cobra.Command, _ []string, typed string) ([]cobra.Completion, cobra.ShellCompDirective) {
		return a.completeDevices(c, nil, typed)
	})
}
