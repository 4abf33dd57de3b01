package main

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"tracewheel/pipeline/forget"
	"tracewheel/pipeline/pattern"
)

func (a *app) forgetCmd() *cobra.Command {
	var forGood bool
	c := &cobra.Command{
		Use: "forget CARD", Short: "remove a person's measures from the workroom for good", Args: cobra.ExactArgs(1),
		Long: "Forget removes a measure card with its old versions and, of every job that was made for it or for its wearer, draft, ticket, lay, blocks, bytes, pictures, returned pages, sheets and lines of the log. " +
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
			with := " and what was made for it: "
			if len(jobs) == 0 {
				with = "; "
			}
			fmt.Fprintf(a.out, "this would remove the measures of %s%s%s\n", printable(card), with, jobsSaid(jobs))
		}
		if err != nil {
			return refused(err)
		}
		fmt.Fprintf(a.out, "Nothing is removed yet. Stop the daemon, then: tracewheel forget %s --for-good\n", shown(card))
		return nil
	}
	done, err := forget.Forget(a.ctx, room, card)
	if err != nil {
		return refused(err)
	}
	fmt.Fprintf(a.out, "%s is forgotten: %s\n", printable(card), jobsSaid(done.Jobs))
	for _, d := range done.Drafts {
		fmt.Fprintf(a.out, "caution: the draft %s names the card or its wearer and stays; see whether measures stand in it\n", shown(d))
	}
	for _, l := range done.Ledgers {
		fmt.Fprintf(a.out, "caution: %s is an old ledger that was set aside; remove it if it is not needed\n", shown(l))
	}
	for _, m := range done.Copies {
		fmt.Fprintf(a.out, "caution: the copy of %s may hold it still: %s\n", m.At.Local().Format("2006-01-02 15:04"), shown(m.File))
	}
	if done.Unread > 0 {
		fmt.Fprintf(a.out, "caution: %s in the list of copies cannot be read; look for other copies yourself\n", pattern.Count(done.Unread, "line"))
	}
	return nil
}

// shown is a name as it is, or quoted with escapes where it holds what does not print or blanks.
func shown(name string) string {
	if printable(name) != name || strings.Contains(name, " ") {
		return strconv.Quote(name)
	}
	return name
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
