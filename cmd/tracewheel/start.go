package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"strings"
	"syscall"
	"time"

	"github.com/spf13/cobra"
	"go.uber.org/zap"

	"tracewheel/config/samples"
	"tracewheel/pipeline"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/daemon"
	"tracewheel/pipeline/hooks"
	"tracewheel/pipeline/jobtext"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/logline"
	"tracewheel/pipeline/machines"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/newroom"
	"tracewheel/pipeline/pages"
	"tracewheel/pipeline/reading"
)

func (a *app) newCmd() *cobra.Command {
	return &cobra.Command{
		Use: "new DIR", Short: "write a workroom: its file, folders and sample drafts", Args: cobra.ExactArgs(1),
		Example: "  tracewheel new workroom",
		RunE: func(_ *cobra.Command, args []string) error {
			made, err := newroom.Write(args[0], making.Sample())
			if err != nil {
				return usage(err)
			}
			fmt.Fprintf(a.out, "%s is ready: %s\n", args[0], strings.Join(made, ", "))
			fmt.Fprintf(a.out, "garments to begin from, in %s/drafts: %s; the first lines of each say for whom it holds\n", args[0], strings.Join(samples.Starters(), ", "))
			fmt.Fprintf(a.out, "how a garment is written from body measures: %s/drafts/REFERENCE.md; step by step, with pictures: %s/drafts/TUTORIAL.html\n", args[0], args[0])
			fmt.Fprintf(a.out, "next: look through %s/workroom.yaml, then `tracewheel run --config %s/workroom.yaml`\n", args[0], args[0])
			return nil
		},
	}
}

func (a *app) runCmd() *cobra.Command {
	var newLedger bool
	c := &cobra.Command{
		Use: "run", Short: "watch the inbox and drive the devices", Args: cobra.NoArgs,
		Long: "Run is the daemon. It reads the workroom file again on SIGHUP and keeps the old one on any fault.\n" +
			"The first interrupt lets machines come to rest with their tools up; the second leaves at once.",
		Example: "  tracewheel run --config workroom/workroom.yaml",
		RunE:    func(*cobra.Command, []string) error { return a.run(newLedger) },
	}
	c.Flags().BoolVar(&newLedger, "new-ledger", false, "begin a new ledger where the old one is lost or damaged and there is no copy of it; what it knew is set aside")
	return c
}

// stopLimit is how long machines get to come to rest.
const stopLimit = 30 * time.Second

func (a *app) run(newLedger bool) error {
	room, err := a.room(false)
	if err != nil {
		return err
	}
	nameRoom(a.err, room)
	log, closeLog, err := logline.Open(room, a.err)
	if err != nil {
		return usage(err)
	}
	defer closeLog()
	shop, err := pipeline.New(a.ctx, room, log, func(o *daemon.Options) { o.NewLedger = newLedger })
	if err != nil {
		return refused(err)
	}
	defer hooks.Start(a.ctx, shop.Jobs(), shop.Room, log).Stop() // before what was cut short is found
	if err := shop.Start(a.ctx); err != nil {
		return refused(errors.Join(err, stop(shop, nil)))
	}
	shown := pages.Start(a.ctx, shop, log)
	if at := shown.Entrance(); at != "" {
		// Not into the log, which others may come to read.
		fmt.Fprintf(a.err, "the workroom's page, for one browser within five minutes: %s (tracewheel page gives another)\n%s", at, pages.Scanned(at))
	}
	hup := make(chan os.Signal, 1)
	notifyReload(hup)
	defer signal.Stop(hup)
	for {
		select {
		case <-hup:
			shop.Reread(log)
		case <-a.ctx.Done():
			leaveOnSecond(log)
			log.Info("stopping: what runs comes to rest with its tool up; a second interrupt leaves at once", zap.String("stage", "stop"))
			return stop(shop, shown)
		}
	}
}

// stop ends the page first and the machines' work after it.
func stop(shop *pipeline.Workshop, shown *pages.Pages) error {
	ctx, cancel := context.WithTimeout(context.Background(), stopLimit)
	defer cancel()
	err := shown.Stop(ctx)
	if err := errors.Join(shop.Stop(ctx), err); err != nil {
		return refused(err)
	}
	return nil
}

// leaveOnSecond ends the process at the next interrupt: somebody is in a hurry, and every state is
// durable anyway.
func leaveOnSecond(log *zap.Logger) {
	again := make(chan os.Signal, 1)
	signal.Notify(again, os.Interrupt, syscall.SIGTERM)
	go func() {
		<-again
		log.Warn("left at once; the next start says what was cut short", zap.String("stage", "stop"))
		_ = log.Sync()
		os.Exit(exitRefused)
	}()
}

func (a *app) devicesCmd() *cobra.Command {
	c := &cobra.Command{
		Use: "devices", Short: "list devices: port, state, limits, calibration", Args: cobra.NoArgs,
		Long:    "Devices lists the devices of the workroom. Under the list stands how far each pen or blade has come since it was changed: what its jobs were really sent, dry runs left out. After a change say --changed DEVICE, and the count begins anew.",
		Example: "  tracewheel devices\n  tracewheel devices --format json\n  tracewheel devices --changed knife-table",
	}
	a.formatFlag(c)
	var pair, list bool
	var withdraw int
	var changed string
	c.Flags().StringVar(&changed, "changed", "", "note that the pen or blade of this device was changed")
	c.Flags().StringVar(&a.who, "who", "", "with --changed: who changed it, beside the login name")
	_ = c.RegisterFlagCompletionFunc("changed", a.completeDevices)
	c.Flags().BoolVar(&pair, "pair", false, "show a code that lets one browser release cutters, until the daemon restarts")
	c.Flags().BoolVar(&list, "list", false, "with --pair: list the browsers that release cutters")
	c.Flags().IntVar(&withdraw, "withdraw", 0, "with --pair: let the browser of this number release cutters no more")
	c.MarkFlagsMutuallyExclusive("changed", "pair", "format")
	c.MarkFlagsMutuallyExclusive("changed", "list", "withdraw", "format")
	c.RunE = func(*cobra.Command, []string) error {
		if a.who != "" && changed == "" {
			return usage(errors.New("--who goes with --changed: it says who changed the pen or blade"))
		}
		if c.Flags().Changed("changed") {
			return a.changed(changed)
		}
		wish := control.PagePair
		switch {
		case list:
			wish = control.PagePaired
		case c.Flags().Changed("withdraw"):
			wish = control.PageUnpair
		case !pair:
			return a.devices()
		}
		return a.page(wish, withdraw)
	}
	return c
}

func (a *app) devices() error {
	asJSON, err := a.asJSON()
	if err != nil {
		return err
	}
	room, err := a.room(true)
	if err != nil {
		return err
	}
	nameRoom(a.beside(asJSON), room)
	list := machines.States(a.ctx, room)
	var untaken []ledger.Untaken
	if room.File != "" {
		untaken = reading.Untaken(a.ctx, room)
	}
	var tools map[string]ledger.Tool
	if room.File != "" {
		if tools, err = reading.Tools(a.ctx, room); err != nil {
			fmt.Fprintf(a.err, "note: %s\n", printable(err.Error()))
		}
	}
	if asJSON {
		for i := range list {
			if t, known := tools[list[i].Name]; known {
				list[i].Tool = &t
			}
			list[i].Untaken = jobtext.OfDevice(untaken, list[i].Name)
		}
		return a.printJSON(list)
	}
	if err := machines.WriteTable(a.out, list, room.Units); err != nil {
		return err
	}
	for _, d := range list {
		if said := tools[d.Name].Said(d.Kind.Cuts(), room.Units); said != "" {
			fmt.Fprintf(a.out, "%s: %s\n", d.Name, printable(said))
		}
	}
	for _, line := range machines.Ports() {
		fmt.Fprintln(a.out, printable(line))
	}
	return a.teller().Untaken(untaken)
}
