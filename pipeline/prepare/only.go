package prepare

import (
	"fmt"
	"strconv"
	"strings"

	"tracewheel/pipeline/pattern"
)

// Only leaves those of the prepared pieces that are named by number, such as "3,4,8", as the lay's picture counts them
// from 1; all for "".
func Only(ready []pattern.Ready, numbers string) ([]pattern.Ready, error) {
	if numbers == "" {
		return ready, nil
	}
	var some []pattern.Ready
	for text := range strings.SplitSeq(numbers, ",") {
		n, err := strconv.Atoi(text)
		if err != nil || n < 1 || n > len(ready) {
			return nil, fmt.Errorf("piece %s of it is wanted again, and it has %d now: the workroom file has changed since", text, len(ready))
		}
		some = append(some, ready[n-1])
	}
	return some, nil
}
