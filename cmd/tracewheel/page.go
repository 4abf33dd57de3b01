package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"tracewheel/config"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/control/asker"
	"tracewheel/pipeline/control/remote"
	"tracewheel/pipeline/pages"
)

func (a *app) pageCmd() *cobra.Command {
	return &cobra.Command{
		Use: "page", Short: "give an address by which one browser may see the workroom's page", Args: cobra.NoArgs,
		Long:    "Page asks the running daemon for the address of the workroom's page, with a code in it that lets one browser in. The code is good for five minutes. Where other machines reach the page, the address comes as a QR code too.",
		Example: "  tracewheel page",
		RunE:    func(*cobra.Command, []string) error { return a.page(control.PageEntrance, 0) },
	}
}

func (a *app) deskCmd() *cobra.Command {
	var stay, menu, phone bool
	c := &cobra.Command{
		Use: "desk [DRAFT]", Short: "the drafting page: measures and words in, pieces seen while they are written", Args: cobra.MaximumNArgs(1),
		Long:    "Desk opens a page in the browser in which a garment is written from body measures: choose a starter, give the measures, see the pieces, then print sheets or a chalking list. It needs no workroom: drafts lie in the folder of DRAFT, else in the workroom's drafts, else in the folder tracewheel of your home. Only this machine reaches the page, unless --phone shares it on the home network. It ends with Ctrl-C or the page's button. A double click on the program does the same.",
		Example: "  tracewheel desk\n  tracewheel desk smock.yaml\n  tracewheel desk --phone\n  tracewheel desk --menu",
		RunE: func(_ *cobra.Command, args []string) error {
			if menu {
				file, err := pages.Menu()
				if err == nil {
					fmt.Fprintln(a.out, "menu entry:", file)
				}
				return refusedIf(err)
			}
			return a.desk(args, stay, phone)
		},
	}
	c.Flags().BoolVar(&stay, "stay", false, "print the address and open no browser")
	c.Flags().BoolVar(&menu, "menu", false, "write an entry into the desktop's menu, and open nothing")
	c.Flags().BoolVar(&phone, "phone", false, "share the page on the home network, unencrypted, by a one-time code")
	return c
}

func (a *app) desk(args []string, stay, phone bool) error {
	room, err := a.room(true, args...)
	if err != nil {
		return err
	}
	nameRoom(a.out, room)
	o := pages.DeskOptions{Room: room, File: strings.Join(args, "")}
	if phone {
		if o.Host, err = pages.HomeAddress(); err != nil {
			return refused(err)
		}
	}
	return refusedIf(pages.RunDesk(a.ctx, o, a.out, !stay, func(err error) error {
		if pages.WithoutTerminal() {
			return err
		}
		a.say(err)
		return nil
	}))
}

// page asks the daemon for what control.PageEntrance and the others name.
func (a *app) page(wish string, browser int) error {
	return a.daemon(func(client *remote.Client, _ *config.Workroom) error {
		text, err := client.Page(a.ctx, wish, browser)
		if err == nil {
			fmt.Fprintln(a.out, text)
			fmt.Fprint(a.err, pages.Scanned(text))
		}
		return err
	})
}

// changed notes that a device's pen or blade was changed.
func (a *app) changed(device string) error {
	return a.daemon(func(client *remote.Client, room *config.Workroom) error {
		d, ok := room.Devices[device]
		if !ok {
			return usage(room.NoDevice(device))
		}
		if err := client.ToolChanged(a.ctx, device); err != nil {
			return err
		}
		now, err := client.Tool(a.ctx, device) // what was noted, with all that ended before
		if n := len(now.Changes); err == nil && n > 0 {
			tool := "pen"
			if d.Kind.Cuts() {
				tool = "blade"
			}
			a.done("a new %s is noted for %s; the one before it had come to %s", tool, device, now.Changes[n-1].Drawn(room.Units))
		}
		return err
	})
}

// daemon asks the daemon for what is no job's.
func (a *app) daemon(do func(*remote.Client, *config.Workroom) error) error {
	who, err := asker.Name(a.who)
	if err != nil {
		return usage(fmt.Errorf("--who: %w", err))
	}
	room, err := a.room(false)
	if err != nil {
		return err
	}
	nameRoom(a.out, room)
	client, err := remote.Dial(a.ctx, room.Path(room.Folders.Store))
	if err != nil {
		return refused(err)
	}
	defer client.Close() //nolint:errcheck // only asked
	client.Who = who
	return refusedIf(do(client, room))
}
