package ledger

import (
	"cmp"
	"context"
	"database/sql"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"tracewheel/pipeline/pattern"
)

// slack is by how much the material may be too short for a job before a person is told, mm.
const slack = 0.5

// book takes what a job used off the stock, in the transaction that ends the job: all that it was laid on where it
// completed; otherwise the length that surely ran, with a mark that it is in doubt. Material without a kept stock is not
// counted. What is left of a roll and is too short to stay one becomes a remnant.
func (l *Ledger) book(ctx context.Context, tx *sql.Tx, old Job, job *Job, step Step, now time.Time) error {
	ends := job.State.Ended() && !old.State.Ended()
	if !ends && !step.GivesUp || job.Laid <= 0 || job.Sends == 0 || job.Trial() != "" {
		return nil
	}
	whole := ends && job.State == Completed
	used := job.Laid
	if !whole {
		used = min(step.RanMM, job.Laid)
	}
	began := job.Send.Bytes > 0 || step.GivesUp
	if !whole && !began {
		return nil
	}
	had, err := stockWhere(ctx, tx, "WHERE material = ? AND remnant = ?", job.Material, job.Remnant.No)
	if err != nil || len(had) == 0 {
		return err
	}
	s, rolls := had[0], l.Rolls()
	s.Length = max(0, s.Length-used)
	s.Check = s.Check || !whole || used > had[0].Length+slack
	text := fmt.Sprintf("%s of %s booked", rolls.Say(used), s.Called())
	switch {
	case !whole && used == 0:
		text = fmt.Sprintf("how much of %s was used cannot be known, and nothing of it is booked: measure what is left, then: %s", s.Called(), s.mend())
	case !whole && math.IsInf(step.RanMM, 1):
		text += ", as all of the job was sent; whether all of it ran cannot be known, so measure what is left, then: " + s.mend()
	case !whole:
		text += ", which surely ran; how much more was used cannot be known, so measure what is left, then: " + s.mend()
	case s.Check && !had[0].Check:
		text += fmt.Sprintf(", of which the stock had %s: measure what is left, then: %s", rolls.Say(had[0].Length), s.mend())
	default:
		text += ", " + rolls.Say(s.Length) + " left"
	}
	err = putStock(ctx, tx, s, StockEvent{At: now, Kind: StockBooked, Change: -used, Job: job.ID})
	if err == nil && s.No == 0 && s.Length > 0 && s.Length < rolls.Least[s.Material] {
		text, err = l.cutOff(ctx, tx, s, job.ID, text, now)
	}
	if err != nil {
		return err
	}
	return addEvent(ctx, tx, Event{Job: job.ID, At: now, Kind: "stock", From: job.State, To: job.State, Text: text})
}

// mend is the command by which a person corrects its length.
func (s Stock) mend() string {
	if s.No == 0 {
		return fmt.Sprintf("tracewheel stock correct %s LENGTH", s.Material)
	}
	return fmt.Sprintf("tracewheel stock correct %s LENGTH --remnant %d", s.Material, s.No)
}

// cutOff makes a remnant of what is left of a roll.
func (l *Ledger) cutOff(ctx context.Context, tx *sql.Tx, roll Stock, job int64, text string, now time.Time) (string, error) {
	rest := roll
	var err error
	if rest.No, err = nextRemnant(ctx, tx); err != nil {
		return "", err
	}
	roll.Length, roll.Check = 0, false
	if err := putStock(ctx, tx, roll, StockEvent{At: now, Kind: StockCutOff, Change: -rest.Length, Job: job}); err != nil {
		return "", err
	}
	say := l.Rolls().Say
	return fmt.Sprintf("%s; that is less than stays on a roll, so it is now remnant %d, %s long and %s wide", text, rest.No, say(rest.Length), say(rest.Width)),
		putStock(ctx, tx, rest, StockEvent{At: now, Kind: StockAdded, Change: rest.Length, Job: job})
}

// Supply tells whether the material of a job that has not begun suffices. Lengths are mm.
type Supply struct {
	// NeedMM is what the job takes, LeftMM what is left for it on its remnant or roll after the jobs before it, ShortMM by
	// how much that is too little.
	NeedMM  float64 `json:"need_mm"`
	LeftMM  float64 `json:"left_mm"`
	ShortMM float64 `json:"short_mm,omitempty"`
	// Remnant is the number of the one that it is laid on, 0 for the roll. Kept is false where no stock of the material is
	// kept.
	Remnant int64 `json:"remnant,omitempty"`
	Kept    bool  `json:"kept"`
	Check   bool  `json:"to_be_checked,omitempty"`
	// Fits are remnants that are large enough, the smallest first.
	Fits []Remnant `json:"fits,omitempty"`
	// Before are the jobs that take material before it, released or under way; TakenMM is what they take together.
	Before  []int64 `json:"before,omitempty"`
	TakenMM float64 `json:"taken_mm,omitempty"`
	// Waiting are those before it that wait for their release too, and may go after it or never; WaitingMM is what they take.
	Waiting   []int64 `json:"waiting_before,omitempty"`
	WaitingMM float64 `json:"waiting_mm,omitempty"`
}

// ToBook says that jobs are under way on a roll or a remnant whose material is still to be booked, "" where there are
// none.
func (l *Ledger) ToBook(ctx context.Context, material string, remnant int64) (string, error) {
	jobs, err := l.Jobs(ctx, Filter{States: []State{Processing, Stopped}})
	var all []string
	for _, j := range jobs {
		if j.Material == material && j.Remnant.No == remnant && j.Laid > 0 && j.Trial() == "" {
			all = append(all, fmt.Sprintf("job %d is under way on it: what it takes, up to %s, is booked when it ends", j.ID, l.Rolls().Say(j.Laid)))
		}
	}
	return strings.Join(all, "; "), err
}

// mostBefore is how many of the jobs before one are listed by their numbers.
const mostBefore = 5

// supply sets for waiting jobs whether their material suffices.
func (l *Ledger) supply(ctx context.Context, jobs []Job) error {
	var all []Stock
	var takes []Job
	for i := range jobs {
		j := &jobs[i]
		if j.Fault != "" || j.Laid <= 0 || j.Trial() != "" || j.State != Pending && j.State != Held {
			continue
		}
		if all == nil {
			var err error
			if all, err = stockWhere(ctx, l.look, ""); err != nil || len(all) == 0 {
				return err
			}
			if takes, err = selectJobs(ctx, l.look, "WHERE j.state IN (?,?,?,?) AND j.laid > 0 ORDER BY j.id", Pending, Held, Processing, Stopped); err != nil {
				return explain(err)
			}
		}
		j.Supply = supplyOf(j, all, takes)
	}
	return nil
}

// goesBefore tells whether another job of the same material takes its part before j: one that has begun, and one that is
// released and goes first. may is true of one that waits for its release as j does and stands before it; a remnant is
// taken at the release, not before.
func (o *Job) goesBefore(j *Job) (does, may bool) {
	first := o.Rank > j.Rank || o.Rank == j.Rank && o.ID < j.ID
	switch o.State {
	case Held:
		return false, first && j.State == Held && o.Ready && o.Remnant.No == 0
	case Pending:
		return first || j.State == Held, false
	}
	return true, false
}

// supplyOf compares what a job takes with the stock less what the jobs before it take.
func supplyOf(j *Job, all []Stock, takes []Job) *Supply {
	s := Supply{NeedMM: j.Laid, Remnant: j.Remnant.No}
	taken := map[int64]float64{}
	for i := range takes {
		o := &takes[i]
		if o.ID == j.ID || o.Fault != "" || o.Material != j.Material || o.Trial() != "" {
			continue
		}
		does, may := o.goesBefore(j)
		if may && o.Remnant.No == j.Remnant.No {
			s.Waiting, s.WaitingMM = append(s.Waiting, o.ID), s.WaitingMM+o.Laid
		}
		if !does {
			continue
		}
		if taken[o.Remnant.No] += o.Laid; o.Remnant.No == j.Remnant.No {
			s.Before, s.TakenMM = append(s.Before, o.ID), taken[o.Remnant.No]
		}
	}
	for _, is := range BySize(all) {
		if is.Material != j.Material {
			continue
		}
		left := max(0, is.Length-taken[is.No])
		if is.No == j.Remnant.No {
			s.Kept, s.LeftMM, s.Check = true, left, is.Check
			if j.Laid > left+slack {
				s.ShortMM = j.Laid - left
			}
		}
		if is.No != 0 && is.No != j.Remnant.No && taken[is.No] == 0 && is.Length > 0 && is.holds(j.Fits) {
			s.Fits = append(s.Fits, is.Remnant)
		}
	}
	if !s.Kept && len(s.Fits) == 0 {
		return nil
	}
	return &s
}

// RemnantShort tells a job that is made for a remnant which does not hold it any more: it is not released before it is laid
// on something else.
func (j *Job) RemnantShort() bool {
	return j.State == Held && j.Ready && j.Supply != nil && j.Supply.Remnant != 0 && j.Supply.ShortMM > 0
}

// LaidSaid says how much of its material a job takes, in the workroom's unit; "" where that is not known, and of a trial,
// which takes none.
func (j *Job) LaidSaid(unit string) string {
	if j.Laid <= 0 || j.Trial() != "" {
		return ""
	}
	said := Rolls{Unit: unit}.Say(j.Laid)
	if j.Material != "" {
		said += " of " + j.Material
	}
	return said
}

// StockSaid says that a job's material does not suffice, and which remnants are large enough; "" for nothing. unit is the
// workroom's.
func (j *Job) StockSaid(unit string) (short, offer string) {
	s := j.Supply
	if s == nil {
		return "", ""
	}
	r := Rolls{Unit: unit}
	from := Stock{Material: j.Material, Remnant: Remnant{No: s.Remnant}}.Called()
	switch {
	case s.ShortMM > 0 && s.LeftMM == 0:
		short = fmt.Sprintf("the material does not suffice: the job takes %s, and nothing of %s is left for it", r.Say(s.NeedMM), from)
	case s.ShortMM > 0:
		short = fmt.Sprintf("the material does not suffice: the job takes %s, and %s of %s is left for it, %s too little", r.Say(s.NeedMM), r.Say(s.LeftMM), from, r.Say(s.ShortMM))
	}
	if short != "" && len(s.Before) > 0 {
		short += fmt.Sprintf("; %s before it %s %s", numbered(s.Before), plural(s.Before, "takes", "take"), r.Say(s.TakenMM))
	}
	if left := max(0, s.LeftMM-s.WaitingMM); short == "" && s.Kept && len(s.Waiting) > 0 && s.NeedMM > left+slack {
		short = fmt.Sprintf("if %s %s first, the material does not suffice: of %s %s would be left for this one, which takes %s", numbered(s.Waiting), plural(s.Waiting, "goes", "go"),
			from, r.Say(left), r.Say(s.NeedMM))
	}
	if short != "" && s.Check {
		short += "; that length is to be checked"
	}
	for i, f := range s.Fits {
		if i == 0 {
			offer = "it fits "
		} else {
			offer += ", or "
		}
		offer += fmt.Sprintf("remnant %d (%s long, %s wide)", f.No, r.Say(f.Length), r.Say(f.Width))
	}
	if offer != "" {
		offer += fmt.Sprintf(": tracewheel release %d --remnant %d", j.ID, s.Fits[0].No)
	}
	return pattern.Printable(short), offer
}

// numbered names jobs by their numbers, the first ones of many.
func numbered(jobs []int64) string {
	ids := make([]string, 0, mostBefore)
	for _, id := range jobs[:min(len(jobs), mostBefore)] {
		ids = append(ids, strconv.FormatInt(id, 10))
	}
	text := plural(jobs, "job ", "jobs ") + strings.Join(ids, ", ")
	if more := len(jobs) - len(ids); more > 0 {
		text += fmt.Sprintf(" and %d more", more)
	}
	return text
}

func plural(jobs []int64, one, several string) string {
	if len(jobs) == 1 {
		return one
	}
	return several
}

// AgainSaid says what a person should know before an ended job is made again, "" for nothing.
func (j *Job) AgainSaid() string {
	switch {
	case j.State == Aborted && j.Sends == 0:
		return "it was refused, and its draft and ticket are read again as they were: mend them and drop them again, unless the workroom file has changed since"
	case j.Remnant.No != 0 && j.State.Ended() && j.Trial() == "":
		is := Stock{Material: j.Material, Remnant: j.Remnant}
		return pattern.Printable(fmt.Sprintf("it was laid on %s; made again, it is laid on the roll. While it waits for release, tracewheel release JOB --remnant N lays it on a remnant", is.Called()))
	}
	return ""
}

// BySize are remnants with the smallest first, of equal ones that of the lower number.
func BySize(all []Stock) []Stock {
	return slices.SortedStableFunc(slices.Values(all), func(a, b Stock) int {
		return cmp.Or(cmp.Compare(a.Width*a.Length, b.Width*b.Length), cmp.Compare(a.No, b.No))
	})
}
