package main

import (
	"cmp"
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"tracewheel/config"
	"tracewheel/pipeline/jobtext"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/places"
	"tracewheel/pipeline/reading"
)

func (a *app) showCmd() *cobra.Command {
	var follow bool
	c := &cobra.Command{
		Use: "show JOB", Short: "tell all about one job", Args: cobra.ExactArgs(1),
		Long:    "Show tells how a job stands and what happened to it. With --follow it goes on telling until the job has ended, and then has the exit status of wait.",
		Example: "  tracewheel show 12\n  tracewheel show 12 --follow",
	}
	a.formatFlag(c)
	c.Flags().BoolVar(&follow, "follow", false, "go on telling what happens, until the job has ended")
	c.MarkFlagsMutuallyExclusive("follow", "format")
	c.RunE = func(_ *cobra.Command, args []string) error {
		id, err := jobID(args[0])
		if err != nil {
			return err
		}
		return a.show(id, follow)
	}
	return c
}

func (a *app) show(id int64, follow bool) error {
	asJSON, err := a.asJSON()
	if err != nil {
		return err
	}
	return a.named(asJSON, func(led reading.Reader) error {
		if led == nil {
			return refused(fmt.Errorf("there is no job %d", id))
		}
		tell := a.teller()
		j, err := led.Job(a.ctx, id)
		events, unread := led.Events(a.ctx, id)
		tried, unlisted := led.Jobs(a.ctx, ledger.Filter{TrialsOf: id, Faulty: true})
		if err != nil && !asJSON { // of a damaged line the history may still tell
			tell.Events(events)
		}
		if err := cmp.Or(err, unread, unlisted); err != nil {
			return refused(err)
		}
		made := tell.Made(a.ctx, j)
		if asJSON {
			return a.printJSON(struct {
				Job    ledger.Job     `json:"job"`
				Tried  []ledger.Job   `json:"tried,omitempty"`
				Pieces []places.Piece `json:"pieces,omitempty"`
				Events []ledger.Event `json:"events"`
			}{j, tried, made, events})
		}
		tell.Job(a.ctx, j, tried, made, events)
		if !follow {
			return nil
		}
		if j, err = tell.Follow(a.ctx, led, id, len(events)); err != nil {
			return refused(err)
		}
		return a.ended(j, false)
	})
}

// teller says what is known of the workroom's jobs.
func (a *app) teller() jobtext.Teller {
	room, _ := a.whereabouts()
	return jobtext.Teller{Out: a.out, Room: room}
}

// jobsListed is how many jobs are listed where nobody says otherwise.
const jobsListed = 100

func (a *app) jobsCmd() *cobra.Command {
	f := ledger.Filter{Newest: true, Faulty: true}
	var since string
	var watch bool
	c := &cobra.Command{
		Use: "jobs", Short: "list jobs, the newest first", Args: notOneJob,
		Long:    fmt.Sprintf("Jobs lists the jobs of the ledger, the newest first and at most %d, as text and as JSON; --limit 0 lists all.", jobsListed),
		Example: "  tracewheel jobs\n  tracewheel jobs --style cloak --since 30d\n  tracewheel jobs --production harbour --piece sleeve\n  tracewheel jobs --device knife-table --limit 0 --format json",
	}
	a.formatFlag(c)
	for name, at := range map[string]*string{"style": &f.Style, "piece": &f.Piece, "production": &f.Production, "wearer": &f.Wearer, "material": &f.Material} {
		c.Flags().StringVar(at, name, "", "only jobs whose "+name+" has this in its name")
	}
	c.Flags().StringVar(&f.Due, "due", "", "only jobs whose fitting is on this day, such as 2026-03-14")
	c.Flags().StringVar(&f.Word, "word", "", "only jobs that have this in the name of style, file, production, wearer, material or a piece")
	c.Flags().StringVar(&f.Device, "device", "", "only jobs of this device")
	c.Flags().StringVar(&since, "since", "", "only jobs received since then: a day such as 2026-03-01, or how long ago, such as 7d or 12h")
	c.Flags().BoolVar(&watch, "watch", false, "then go on: a line for each job that comes or changes, until Ctrl-C")
	c.Flags().IntVar(&f.Limit, "limit", jobsListed, "how many at most; 0 lists all")
	_ = c.RegisterFlagCompletionFunc("device", a.completeDevices)
	c.RunE = func(*cobra.Command, []string) (err error) {
		if f.Limit < 0 {
			return usage(fmt.Errorf("--limit is a number of jobs, 0 for all, not %d", f.Limit))
		}
		if f.Since, err = config.Since(since, time.Now()); err == nil {
			err = config.Day(f.Due)
		}
		if err != nil {
			return usage(err)
		}
		return a.jobs(f, watch)
	}
	return c
}

func (a *app) jobs(f ledger.Filter, watch bool) error {
	asJSON, err := a.asJSON()
	if err != nil {
		return err
	}
	limit := f.Limit
	if limit > 0 && !asJSON {
		f.Limit++ // one more tells whether any are left out
	}
	return a.named(asJSON, func(led reading.Reader) error {
		list, fault := []ledger.Job{}, error(nil)
		if led != nil {
			list, fault = led.Jobs(a.ctx, f)
		}
		var untaken []ledger.Untaken
		if room, _ := a.whereabouts(); room != nil && !f.Sought() {
			untaken = jobtext.OfDevice(reading.Untaken(a.ctx, room), f.Device)
		}
		switch {
		case asJSON && len(untaken) > 0:
			err = a.printJSON(jobtext.WithUntaken(list, untaken))
		case asJSON:
			err = a.printJSON(list)
		default:
			err = errors.Join(a.teller().Table(a.ctx, led, list, limit, f), a.teller().Untaken(untaken))
		}
		if fault != nil {
			return refused(fault) // what could be read stands above
		}
		if err != nil || !watch || led == nil {
			return err
		}
		return refusedIf(jobtext.Watch(a.ctx, led, f, list, func(j ledger.Job) error {
			if asJSON {
				return a.printJSON(j)
			}
			a.teller().Line(j)
			return nil
		}))
	})
}
