package main

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/pages"
)

func (a *app) pageCmd() *cobra.Command {
	return &cobra.Command{
		Use: "page", Short: "give an address by which one browser may see the workroom's page", Args: cobra.NoArgs,
		Long:    "Page asks the running daemon for the address of the workroom's page, with a code in it that lets one browser in. The code is good for five minutes and five tries.",
		Example: "  tracewheel page",
		RunE: func(*cobra.Command, []string) error {
			text, err := a.askPage(false)
			if err == nil {
				fmt.Fprintln(a.out, text)
			}
			return err
		},
	}
}

func (a *app) deskCmd() *cobra.Command {
	var stay bool
	c := &cobra.Command{
		Use: "desk [DRAFT]", Short: "the drafting page: measures and words in, pieces seen while they are written", Args: cobra.MaximumNArgs(1),
		Long:    "Desk opens a page in the browser in which a garment is written from body measures: choose a starter, give the measures, see the pieces, then print sheets or a chalking list. It needs no workroom: drafts lie in the folder of DRAFT, else in the workroom's drafts, else in the folder tracewheel of your home. Only this machine reaches the page. It ends with Ctrl-C.",
		Example: "  tracewheel desk\n  tracewheel desk smock.yaml\n  tracewheel desk --stay",
		RunE:    func(_ *cobra.Command, args []string) error { return a.desk(args, stay) },
	}
	c.Flags().BoolVar(&stay, "stay", false, "print the address and open no browser")
	return c
}

func (a *app) desk(args []string, stay bool) error {
	room, err := a.room(true, args...)
	if err != nil {
		return err
	}
	nameRoom(a.out, room)
	shown, dir, err := pages.Desk(room, strings.Join(args, ""))
	if err != nil {
		return refused(err)
	}
	at := shown.Entrance()
	fmt.Fprintf(a.out, "drafts in %s\nthe page, for one browser within five minutes: %s\n", dir, at)
	if !stay {
		pages.Open(a.ctx, at)
	}
	<-a.ctx.Done()
	ctx, cancel := context.WithTimeout(context.Background(), stopLimit)
	defer cancel()
	if err := shown.Stop(ctx); err != nil {
		return refused(err)
	}
	return nil
}

// askPage asks the daemon for an address with a code, or for a code that pairs.
func (a *app) askPage(pair bool) (string, error) {
	room, err := a.room(false)
	if err != nil {
		return "", err
	}
	nameRoom(a.out, room)
	client, err := control.Dial(a.ctx, room.Path(room.Folders.Store))
	if err != nil {
		return "", refused(err)
	}
	defer client.Close() //nolint:errcheck // only asked
	text, err := client.Page(a.ctx, pair)
	if err != nil {
		return "", refused(err)
	}
	return text, nil
}
