package jobtext

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"text/tabwriter"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/reading"
	"tracewheel/pipeline/returned"
)

// Table prints a list of jobs, of which one more than the limit tells that there are more.
func (t Teller) Table(ctx context.Context, led reading.Reader, list []ledger.Job, limit int, f ledger.Filter) error {
	if len(list) == 0 {
		if f.Sought() || f.Device != "" {
			fmt.Fprintln(t.Out, "no such job")
			if t.Room != nil {
				if none := t.Room.NoneSought(f.Device, f.Material); none != nil {
					fmt.Fprintln(t.Out, pattern.Printable(none.Error()))
				}
			}
		} else {
			fmt.Fprintln(t.Out, "no jobs yet; drop a draft into a folder of the inbox")
		}
		return nil
	}
	more := limit > 0 && len(list) > limit
	if more {
		list = list[:limit]
	}
	ahead := firstStopped(ctx, led, list)
	turns, daemon := turnsOf(ctx, led, list), t.DaemonRuns(ctx)
	table := tabwriter.NewWriter(t.Out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(table, "JOB\tDEVICE\tFILE\tSTATE\tWHY")
	for _, j := range list {
		fmt.Fprintf(table, "%d\t%s\t%s\t%s\t%s\n", j.ID, pattern.Short(j.Device), pattern.Short(j.File), pattern.Printable(stateWords(j)), pattern.Printable(t.why(j, ahead[j.Device], turns[j.ID], daemon)))
	}
	if err := table.Flush(); err != nil {
		return err
	}
	if more {
		fmt.Fprintf(t.Out, "the newest %d; older ones are left out: --limit 0 lists all\n", limit)
	}
	return nil
}

// firstStopped are the first jobs that stand stopped on the devices of a list. Each device is asked for
// alone: thousands may stand stopped on another.
func firstStopped(ctx context.Context, led reading.Reader, list []ledger.Job) map[string]int64 {
	ahead := map[string]int64{}
	for _, j := range list {
		if _, asked := ahead[j.Device]; asked {
			continue
		}
		ahead[j.Device] = 0
		stopped, err := led.Jobs(ctx, ledger.Filter{Device: j.Device, States: []ledger.State{ledger.Stopped}, Faulty: true, Limit: 1})
		if err == nil && len(stopped) > 0 { // else the list itself has told
			ahead[j.Device] = stopped[0].ID
		}
	}
	return ahead
}

// turnsOf says when the jobs that wait take their turns, on devices where a person has put one before the others. Each
// device is asked for its first ones alone.
func turnsOf(ctx context.Context, led reading.Reader, list []ledger.Job) map[int64]string {
	turns, asked := map[int64]string{}, map[string]bool{}
	for _, j := range list {
		if j.Rank == 0 || j.State != ledger.Pending && j.State != ledger.Held || asked[j.Device] {
			continue
		}
		asked[j.Device] = true
		waiting, err := led.Jobs(ctx, ledger.Filter{Device: j.Device, States: []ledger.State{ledger.Pending, ledger.Held}, Faulty: true, Turn: true, Limit: 100})
		if err != nil {
			continue // the list itself has told
		}
		for i, w := range waiting {
			if turns[w.ID] = "goes first"; i > 0 {
				turns[w.ID] = fmt.Sprintf("goes after job %d", waiting[i-1].ID)
			}
		}
	}
	return turns
}

// stateWords is a job's state for people. Of a line that is not what was written nobody knows it.
func stateWords(j ledger.Job) string {
	if j.Fault != "" {
		return ledger.Unknown
	}
	return j.State.Plain()
}

// why tells what a job's state does not: its reason, which stopped job of its device it waits behind, 0 for none, or
// its turn, empty where it is as it came.
func (t Teller) why(j ledger.Job, behind int64, turn string, daemon bool) string {
	all := append([]string{j.TrialSaid(), t.whyAlone(j, behind, turn, daemon)}, t.warnings(j)...)
	return strings.Join(slices.DeleteFunc(all, func(text string) bool { return text == "" }), "; ")
}

// Stock says that a job's material does not suffice, and which remnants would hold it; "" where nothing is to be said.
func (t Teller) Stock(j ledger.Job) (short, offer string) {
	unit := "mm"
	if t.Room != nil && t.Room.Units != "" {
		unit = t.Room.Units
	}
	return j.StockSaid(unit)
}

func (t Teller) whyAlone(j ledger.Job, behind int64, turn string, daemon bool) string {
	switch {
	case j.Fault != "":
		return j.Fault + ledger.MendRow
	case j.State == ledger.Processing && !daemon:
		return "no daemon runs any more; see to the machine, then start `tracewheel run`, which says how far it surely came"
	case j.State == ledger.Processing && j.Send.Cancel:
		return "a person canceled it; waits for the device to confirm that it has stopped"
	case j.State == ledger.Pending && j.Reason == "" && !daemon:
		return "no daemon runs: tracewheel run"
	case j.State == ledger.Pending && j.Reason == "" && behind != 0:
		return fmt.Sprintf("waits behind job %d, which needs you", behind)
	case j.State == ledger.Pending && j.Reason == "" && turn != "":
		return turn
	case j.State == ledger.Held && turn != "":
		return returned.Why(t.Room, j) + "; once released it " + turn
	}
	if j.Reason == "" && j.SameAs != 0 {
		return fmt.Sprintf("the same content as job %d", j.SameAs)
	}
	return returned.Why(t.Room, j)
}

// Untaken tells what lies in the inbox and becomes no job; nothing where there is none.
func (t Teller) Untaken(list []ledger.Untaken) error {
	if len(list) == 0 {
		return nil
	}
	fmt.Fprintln(t.Out, "in the inbox, and not taken:")
	table := tabwriter.NewWriter(t.Out, 0, 0, 2, ' ', 0)
	for _, u := range list {
		at := pattern.Short(u.File)
		if u.Device != "" {
			at = pattern.Short(u.Device) + "/" + at
		}
		fmt.Fprintf(table, "  %s\t%s\n", at, pattern.Printable(u.Why))
	}
	return table.Flush()
}

// OfDevice picks what lies in a device's folder, all for "".
func OfDevice(list []ledger.Untaken, device string) []ledger.Untaken {
	return slices.DeleteFunc(slices.Clone(list), func(u ledger.Untaken) bool { return device != "" && u.Device != device })
}

// WithUntaken is the list of jobs and, in its form but without a number, what became none.
func WithUntaken(jobs []ledger.Job, untaken []ledger.Untaken) []any {
	list := make([]any, 0, len(jobs)+len(untaken))
	for _, j := range jobs {
		list = append(list, j)
	}
	for _, u := range untaken {
		list = append(list, u)
	}
	return list
}
