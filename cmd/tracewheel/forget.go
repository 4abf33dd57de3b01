package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"tracewheel/pipeline/forget"
	"tracewheel/pipeline/pattern"
)

func (a *app) forgetCmd() *cobra.Command {
	var forGood bool
	c := &cobra.Command{
		Use: "forget CARD", Short: "remove a person's measures from the workroom for good", Args: cobra.ExactArgs(1),
		Long: "Forget removes a measure card with its old versions and, of every job that was made for it or for its wearer, draft, ticket, lay, bytes, pictures, returned pages and lines of the log. " +
			"The number, device, state and dates of each job stay, with the word forgotten. Without --for-good it only tells which jobs those are. It refuses while one of them has not ended, and while a daemon runs. " +
			"What a copy, the system's journal or a disk's own old blocks still hold is beyond its reach; copies that `backup` made are listed.",
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
		if err != nil {
			return refused(err)
		}
		fmt.Fprintf(a.out, "%s and what was made for it would go: %s; --for-good does it\n", printable(card), jobsSaid(jobs))
		return nil
	}
	done, err := forget.Forget(a.ctx, room, card)
	if err != nil {
		return refused(err)
	}
	fmt.Fprintf(a.out, "%s is forgotten: %s\n", printable(card), jobsSaid(done.Jobs))
	for _, d := range done.Drafts {
		fmt.Fprintf(a.out, "note: %s still names the card; no measures stand in it\n", printable(d))
	}
	for _, l := range done.Ledgers {
		fmt.Fprintf(a.out, "caution: %s is an old ledger that was set aside; remove it if it is not needed\n", printable(l))
	}
	for _, m := range done.Copies {
		fmt.Fprintf(a.out, "caution: the copy of %s may hold it still: %s\n", m.At.Local().Format("2006-01-02 15:04"), printable(m.File))
	}
	return nil
}

func jobsSaid(jobs []int64) string {
	if len(jobs) == 0 {
		return "no job was made for it"
	}
	text := pattern.Count(len(jobs), "job") + ","
	for _, id := range jobs {
		text += fmt.Sprintf(" %d", id)
	}
	return text
}
