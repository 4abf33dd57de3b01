package places

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// ErrChoice means that a text does not name pieces by their numbers.
var ErrChoice = errors.New("pieces are named by their numbers in the lay's picture, such as 3-5,8")

// Chosen reads which of n pieces, counted from 1, a person names, such as "3-5,8", and gives their numbers one by one,
// sorted: "3,4,5,8". before is what Chosen gave for a job that is itself of chosen pieces, else empty; the numbers are
// those of the whole job in both cases. A text that names no piece is ErrChoice.
func Chosen(text string, n int, before string) (string, error) {
	whole := strings.Split(before, ",")
	var out []int
	for part := range strings.SplitSeq(text, ",") {
		from, to, span := strings.Cut(strings.TrimSpace(part), "-")
		a, err := strconv.Atoi(strings.TrimSpace(from))
		b := a
		if err == nil && span {
			b, err = strconv.Atoi(strings.TrimSpace(to))
		}
		if err != nil || a > b {
			return "", fmt.Errorf("%w, not %q", ErrChoice, text)
		}
		if a < 1 || b > n {
			return "", fmt.Errorf("%w %s; there are %d", ErrNoPiece, part, n)
		}
		for i := a; i <= b; i++ {
			no := i
			if before != "" && i <= len(whole) {
				if no, err = strconv.Atoi(whole[i-1]); err != nil {
					return "", fmt.Errorf("%w, not %q", ErrChoice, before)
				}
			}
			if !slices.Contains(out, no) {
				out = append(out, no)
			}
		}
	}
	slices.Sort(out)
	var words []string
	for _, no := range out {
		words = append(words, strconv.Itoa(no))
	}
	return strings.Join(words, ","), nil
}
