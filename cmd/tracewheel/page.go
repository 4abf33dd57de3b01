package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"tracewheel/pipeline/control"
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
