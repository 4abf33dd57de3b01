package prepare

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"tracewheel/pipeline/pattern"
)

// numbers reads the numbers of the pieces to make, such as "3,4,8", counted from 1 in the order of Result.Ready; nil,
// all, for "".
func numbers(text string, all int) (only []int, err error) {
	if text == "" {
		return nil, nil
	}
	for one := range strings.SplitSeq(text, ",") {
		n, err := strconv.Atoi(one)
		if err != nil || n < 1 || n > all {
			return nil, fmt.Errorf("piece %s of it is wanted again, and it has %d now: the workroom file has changed since", one, all)
		}
		only = append(only, n)
	}
	return only, nil
}

// picked are the pieces with those numbers, all for nil.
func picked(ready []pattern.Ready, only []int) []pattern.Ready {
	if only == nil {
		return ready
	}
	var some []pattern.Ready
	for _, n := range only {
		some = append(some, ready[n-1])
	}
	return some
}

// numberIn is the number of the n-th of all pieces among those that are made, and their count, so that the number
// lettered on a piece is that in the lay's picture.
func numberIn(only []int, n, all int) (no, of int) {
	if only == nil {
		return n, all
	}
	return slices.Index(only, n) + 1, len(only)
}
