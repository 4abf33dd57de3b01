package making

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/lay"
	"tracewheel/pipeline/pattern"
)

// bedEnds tells whether a cutter's bed ends before the cloth on it does.
func (on *Setup) bedEnds() bool {
	return on.Profile.Kind.Cuts() && on.Profile.Length > 0 && (on.Material.Length == 0 || on.Material.Length > on.Profile.Length)
}

// bedByBed asks whether the pieces of a cutter's job that take more than its bed are to be cut bed by bed, and deals them to
// the beds where a person has answered so. tooLong is the refusal of the lay; it stands where they cannot be dealt: where
// the cloth itself is too short, a piece is longer than the bed, or the job is one of a remnant or of one bed.
func bedByBed(ctx context.Context, ready []pattern.Ready, lies pattern.Material, r Request, on Setup, opt lay.Options, tooLong Judged) ([]string, Judged) {
	whole, bed := on.Material.Length, on.Profile.Length
	found := tooLong.Findings
	if len(found) != 1 || found[0].Rule != pattern.RuleTooShort || !on.Profile.Kind.Cuts() || bed == 0 ||
		r.Remnant.No != 0 || r.Answers[answers.ToolUp]+r.Answers[answers.Bed] != "" {
		return nil, tooLong
	}
	if !on.bedEnds() {
		found[0].Mend += "; if it is longer than the bed, say so by its length in the workroom file, 0 for a roll: then it can be cut bed by bed"
		return nil, tooLong
	}
	// A blade's first stroke, in waste, takes 18 blade offsets; that much is left free at the end of a bed.
	beds, long := lay.Beds(ctx, ready, lies, 20*on.Profile.Blade.Offset, opt)
	if len(beds) < 2 || whole > 0 && long > whole {
		return nil, tooLong
	}
	if r.Job == 0 {
		found[0].Mend = fmt.Sprintf("drop it into the folder of %s: there it can be cut bed by bed, on %d beds with each piece whole on one; or %s", r.Device, len(beds), found[0].Mend)
		return nil, tooLong
	}
	var dealt, told []string
	for k, of := range beds {
		var numbers, here []string
		for _, i := range of {
			numbers, here = append(numbers, numberOf(i, r.Answers[answers.Pieces])), append(here, strconv.Itoa(i+1))
		}
		dealt = append(dealt, strings.Join(numbers, ","))
		told = append(told, fmt.Sprintf("bed %d piece%s %s", k+1, map[bool]string{true: "s"}[len(here) > 1], answers.Runs(here)))
	}
	if r.Answers[answers.Beds] == "" {
		return nil, Judged{Hold: fmt.Sprintf("%s. They can be cut bed by bed, each piece whole on one bed: %s. If that is wanted, release it with --%s, and each bed is a job with its own release; or cancel it and send fewer pieces",
			found[0].Message, strings.Join(told, ", "), answers.Beds)}
	}
	return dealt, Judged{}
}

// numberOf is the number of the i-th piece of a job, counted from 0, among all of its draft; chosen are the numbers of those
// that the job has, "" for all.
func numberOf(i int, chosen string) string {
	if all := strings.Split(chosen, ","); chosen != "" && i < len(all) {
		return all[i]
	}
	return strconv.Itoa(i + 1)
}
