package main

import (
	"context"
	"fmt"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/control/remote"
	"tracewheel/pipeline/jobtext"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/places"
	"tracewheel/pipeline/verify"
)

func (a *app) holdCmd() *cobra.Command {
	return a.stop("hold JOB", "keep a waiting job from being sent", "  tracewheel hold 12", a.wish((*remote.Client).Hold, jobtext.Kept))
}

// wish carries one out and says what came of it, in words for the job as it was before.
func (a *app) wish(do func(c *remote.Client, ctx context.Context, id int64) error, words func(ledger.Job) string) func(ctx context.Context, c *remote.Client, id int64) error {
	return func(ctx context.Context, c *remote.Client, id int64) error {
		before, err := c.Job(ctx, id)
		if err == nil {
			err = do(c, ctx, id)
		}
		if err == nil {
			a.done("%s", words(before))
		}
		return err
	}
}

func (a *app) nextCmd() *cobra.Command {
	c := a.act("next JOB", "put a waiting job before the others of its device", "  tracewheel next 12", a.wish((*remote.Client).Next, jobtext.First))
	c.Long = "Next puts a job that waits before the others of its device; of several, the last that was put there goes first. It stays so when the program is started again. What runs goes on, and a held job still waits for its release."
	return c
}

func (a *app) releaseCmd() *cobra.Command {
	var lay, remnant string
	texts, yes := map[string]*string{}, map[string]*bool{}
	var w confirmations
	c := a.act("release JOB", "release a held job, with an answer if it asks a question",
		"  tracewheel release 12\n  tracewheel release 12 --bed-clear\n  tracewheel release 12 --allowance 10mm",
		func(ctx context.Context, c *remote.Client, id int64) error {
			answers := map[string]string{}
			for name, text := range texts {
				if *text != "" {
					answers[name] = *text
				}
			}
			for name, said := range yes {
				if *said {
					answers[name] = "yes"
				}
			}
			if remnant != "" { // before the cautions: nothing is cut by it yet
				err := c.ReleaseOn(ctx, id, remnant, answers)
				if err == nil {
					a.done("%s", jobtext.LaidOn(id, remnant))
				}
				return err
			}
			fmt.Fprint(a.err, a.teller().Warnings(ctx, c, id))
			return a.saying(id, w, func(said control.Confirmation) error {
				if err := c.ReleaseLay(ctx, id, answers, said, lay); err != nil {
					return err
				}
				j, err := c.Job(ctx, id)
				made := err != nil || j.Ready || j.State.Ended() // which is not told otherwise
				a.done("%s", jobtext.Released(id, answers, made, w.bedClear))
				if !made || len(answers) > 0 {
					return nil
				}
				return a.teller().Begun(ctx, c, id, "begin")
			})
		})
	c.Long = "Release lets a held job start. On a cutter the blade moves then: see first that the bed is clear, hands and cords are away from it, the cloth lies flat and is held, in one layer, and that you know the emergency stop. The machine's manual and local rules come first."
	w.flag(c, &w.bedClear, control.BedClear)
	c.Flags().StringVar(&lay, "lay", "", "the lay that you looked at, as show says it; needed where a better one was found")
	c.Flags().StringVar(&remnant, "remnant", "", "have it laid on the remnant of this number, or on the roll again: roll")
	for _, answer := range answers.All {
		if answer.Yes {
			yes[answer.Name] = c.Flags().Bool(answer.Name, false, answer.Help)
		} else {
			texts[answer.Name] = c.Flags().String(answer.Name, "", answer.Help)
		}
	}
	return c
}

func (a *app) betterCmd() *cobra.Command {
	seek := 60 * time.Second
	c := a.act("better JOB", "go on looking for a shorter lay for a job that waits for release", "  tracewheel better 12\n  tracewheel better 12 --seek 10m",
		func(ctx context.Context, c *remote.Client, id int64) error {
			if err := c.Better(ctx, id, seek); err != nil {
				return err
			}
			a.done("a shorter lay is sought for job %d for %s; `tracewheel show %d` tells what came of it", id, seek, id)
			return nil
		})
	c.Flags().DurationVar(&seek, "seek", seek, "how long, up to 1h")
	return c
}

func (a *app) cancelCmd() *cobra.Command {
	c := a.stop("cancel JOB", "end a job; a running one stops with its tool up", "  tracewheel cancel 12",
		func(ctx context.Context, c *remote.Client, id int64) error {
			if err := c.Cancel(ctx, id); err != nil {
				return err
			}
			j, err := c.Job(ctx, id)
			a.done("%s", jobtext.Canceled(j, err == nil, id))
			return nil
		})
	c.Long = "Cancel ends a job. A running one is told to stop at once and to lift its tool. The machine may still finish what is already in its own buffer. " + noStop
	return c
}

// noStop is said where somebody might take a wish for a machine's own stop.
const noStop = "It works through a computer and a cable, so it is no emergency stop: that one is at the machine."

func (a *app) pauseCmd() *cobra.Command {
	c := a.stop("pause JOB", "stop a running job: a pen at the end of its stroke, a knife at once", "  tracewheel pause 12",
		func(ctx context.Context, c *remote.Client, id int64) error {
			if err := c.Pause(ctx, id); err != nil {
				return err
			}
			a.done("job %d pauses; `tracewheel resume %d` continues it", id, id)
			return nil
		})
	c.Long = "Pause stops a running job for a while: a pen at the end of its stroke, lifted, a knife at once, lifted out of the cloth; what a print queue has is held there. Resume continues it. " + noStop
	return c
}

func (a *app) resumeCmd() *cobra.Command {
	var from string
	var piece int
	var w confirmations
	var c *cobra.Command
	c = a.act("resume JOB", "continue a stopped job", "  tracewheel resume 12\n  tracewheel resume 12 --from piece\n  tracewheel resume 12 --from-piece 3 --not-shifted",
		func(ctx context.Context, client *remote.Client, id int64) error {
			if c.Flags().Changed("from-piece") {
				from = places.FromPiece(piece)
			}
			return a.saying(id, w, func(said control.Confirmation) error {
				live, err := client.Now(ctx)
				if err != nil {
					return err
				}
				if err := client.Resume(ctx, id, from, said); err != nil {
					return err
				}
				if slices.ContainsFunc(live, func(p control.Progress) bool { return p.Job == id }) {
					a.done("job %d goes on", id)
					return nil
				}
				a.done("job %d is told to continue; `tracewheel show %d` tells how far it is", id, id)
				return a.teller().Begun(ctx, client, id, "go on")
			})
		})
	c.Long = "Resume continues a stopped job. One that was cut short needs --from, unless nothing was sent of it yet; without it the possible places are listed, and what may be made twice from each. If you can see on the material which pieces are made, --from-piece N continues with piece N, because you say so; pieces are listed by number in the order in which they are finished. A knife continues only after you confirm that nothing has shifted, or, from the start, that the bed is clear. A paused knife re-enters blade.reentry_overlap mm before where it stopped, and so does --from place; otherwise it starts at the beginning of a stroke. Either way it first cuts a short stroke in waste to line the blade up."
	w.flag(c, &w.notShifted, control.NotShifted)
	w.flag(c, &w.bedClear, control.BedClear)
	c.Flags().StringVar(&from, "from", "", "start, piece, stroke or place")
	c.Flags().IntVar(&piece, "from-piece", 0, "the first piece that is not made, as you see on the material")
	c.MarkFlagsMutuallyExclusive("from", "from-piece")
	_ = c.RegisterFlagCompletionFunc("from", cobra.FixedCompletions([]string{"start", "piece", "stroke", places.AtPlace}, cobra.ShellCompDirectiveNoFileComp))
	return c
}

func (a *app) againCmd() *cobra.Command {
	var pieces, cloth string
	var c *cobra.Command
	c = a.act("again JOB", "make a new job of an ended one", "  tracewheel again 12\n  tracewheel again 12 --pieces 3-5,8\n  tracewheel again 12 --cloth lining",
		func(ctx context.Context, client *remote.Client, id int64) error {
			if c.Flags().Changed("pieces") && strings.TrimSpace(pieces) == "" {
				return fmt.Errorf("--pieces names none, so nothing is made: %w; leave it out for all", places.ErrChoice)
			}
			if c.Flags().Changed("cloth") && strings.TrimSpace(cloth) == "" {
				return fmt.Errorf("--cloth names none, so nothing is made: %w; leave it out for all", places.ErrChoice)
			}
			old, err := client.Job(ctx, id)
			if err != nil {
				return err
			}
			n, called, err := client.AgainPieces(ctx, id, pieces, cloth)
			if err == nil {
				a.done("%s", jobtext.Repeats(n, old, called, cloth))
			}
			return err
		})
	c.Flags().StringVar(&pieces, "pieces", "", "only these, by their numbers in the lay's picture, such as 3-5,8")
	c.Flags().StringVar(&cloth, "cloth", "", "the pieces of another cloth, where a cutter's job is for one of several; that job need not have ended")
	c.MarkFlagsMutuallyExclusive("pieces", "cloth")
	return c
}

// sheetCmd is the verb by which a person says how the sheet of a silent device is.
func (a *app) sheetCmd(whole bool) *cobra.Command {
	verb, short, end := "spoilt", "say that a job's sheet is spoilt, where the device cannot tell", "ended as spoilt; `tracewheel again %d` makes a new job of it"
	if whole {
		verb, short, end = "whole", "say that a job's sheet is whole, where the device cannot tell", "complete, as you say"
	}
	c := a.act(verb+" JOB", short, "  tracewheel "+verb+" 12",
		func(ctx context.Context, c *remote.Client, id int64) error {
			if err := c.Sheet(ctx, id, whole); err != nil {
				return err
			}
			if !whole {
				end = fmt.Sprintf(end, id)
			}
			a.done("job %d is %s", id, end)
			return nil
		})
	c.Long = "Some devices fall silent at the end of a job, or their last answer is lost. Everything is sent then, and only a person at the machine can tell whether all is drawn or cut. Wait until the machine stands still, keep hands away until then, look at the sheet, and say `whole` or `spoilt`. No machine moves by it, but the device's next job may begin once this one has ended."
	return c
}

func (a *app) verifyCmd() *cobra.Command {
	c := &cobra.Command{
		Use: "verify", Short: "check the whole store and ledger against each other", Args: cobra.NoArgs,
		Example: "  tracewheel verify",
	}
	a.formatFlag(c)
	c.RunE = func(*cobra.Command, []string) error { return a.verify() }
	return c
}

func (a *app) verify() error {
	asJSON, err := a.asJSON()
	if err != nil {
		return err
	}
	room, err := a.room(false)
	if err != nil {
		return err
	}
	nameRoom(a.beside(asJSON), room)
	dir := room.Path(room.Folders.Store)
	problems := verify.Verify(dir)
	switch {
	case asJSON:
		if problems == nil {
			problems = []verify.Problem{}
		}
		if err := a.printJSON(problems); err != nil {
			return err
		}
	case len(problems) == 0:
		if _, err := os.Stat(dir); err != nil {
			fmt.Fprintln(a.out, "there is no store yet")
		} else {
			fmt.Fprintln(a.out, "store and ledger agree")
		}
	default:
		for _, p := range problems {
			fmt.Fprintln(a.out, printable(p.String()))
		}
	}
	if len(problems) > 0 {
		return refused(errSaid)
	}
	return nil
}
