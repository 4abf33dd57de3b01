package jobtext

import (
	"fmt"
	"maps"
	"slices"
	"strings"
)

// Released says what a release has done: one with answers, or of a job that is not made, lets no machine
// move yet, and takes nobody's word for the bed.
func Released(id int64, answers map[string]string, made, bedClear bool) string {
	const then = "; if it then waits for release, release it again"
	text := ""
	switch {
	case len(answers) > 0:
		var all []string
		for _, what := range slices.Sorted(maps.Keys(answers)) {
			all = append(all, what+" "+answers[what])
		}
		text = fmt.Sprintf("job %d takes the answer %s and is made with it%s", id, strings.Join(all, ", "), then)
	case !made:
		text = fmt.Sprintf("job %d is made first%s", id, then)
	default:
		return fmt.Sprintf("job %d is released; `tracewheel show %d` tells whether it has begun", id, id)
	}
	if bedClear {
		text += ", and say --bed-clear then: it was not taken now"
	}
	return text
}
