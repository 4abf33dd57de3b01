package main

import (
	"errors"

	"github.com/spf13/cobra"

	"tracewheel/pipeline/forget"
)

func (a *app) forgetCmd() *cobra.Command {
	var forGood bool
	c := &cobra.Command{
		Use: "forget CARD", Short: "remove a person's measures from the workroom for good", Args: cobra.ExactArgs(1),
		Long: "Forget removes a measure card with its old versions and, of every job that was made for it, or for its wearer with no other card that is there, draft, ticket, lay, blocks, bytes, pictures, returned pages, sheets and lines of the log. " +
			"The number, device, state and dates of each job stay, with the word forgotten. Without --for-good it only lists those jobs; a daemon may run then. " +
			"With --for-good it refuses while a daemon runs and while one of the jobs has not ended. " +
			"It lists the copies that `backup` made and the drafts that name the card: those stay. What another copy, the system's journal or a disk's old blocks hold, it cannot remove.",
		Example: "  tracewheel forget chorus-4\n  tracewheel forget chorus-4 --for-good",
	}
	c.Flags().BoolVar(&forGood, "for-good", false, "do it; nothing brings it back but a copy")
	c.RunE = func(_ *cobra.Command, args []string) error { return a.forget(args[0], forGood) }
	return c
}

func (a *app) forget(card string, forGood bool) error {
	room, err := a.room(false)
	if err != nil {
		return err
	}
	nameRoom(a.out, room)
	if !forGood {
		jobs, err := forget.Would(a.ctx, room, card)
		if err == nil || errors.Is(err, forget.ErrUnended) {
			forget.Tell(a.out, card, jobs, err == nil)
		}
		return refusedIf(err)
	}
	done, err := forget.Forget(a.ctx, room, card)
	if err == nil {
		done.Tell(a.out, card)
	}
	return refusedIf(err)
}
