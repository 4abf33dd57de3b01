package inbox

import (
	"fmt"

	"tracewheel/pipeline/pattern"
)

const (
	// LargestFile is the largest file that is taken as a draft, bytes; real ones are a hundredth of it.
	LargestFile = 128 << 20
	// largestTicket is the largest ticket; real ones have some lines.
	largestTicket = 1 << 20
)

// notRead is an ErrUnreadable that says why.
type notRead string

func (r notRead) Error() string { return string(r) }

func (notRead) Is(target error) bool { return target == ErrUnreadable }

// tooLarge is an ErrUnreadable: the file stays where it is, and nothing of it is copied.
func tooLarge(size, most int64) error {
	return notRead(fmt.Sprintf("it has %d MB, and at most %d are read: it is probably something else; take it out of the inbox", size>>20, most>>20))
}

// largeTogether is an ErrUnreadable: the drafts of one ticket stay where they are.
func largeTogether(ticket string, size int64) error {
	return notRead(fmt.Sprintf("it and the drafts that its ticket %s names have %d MB together, and at most %d are read for one job: name fewer, in several tickets", ticket, (size+1<<20-1)>>20, pattern.MostTogether>>20))
}

// withinSize refuses what is larger than a draft or, by its name, a ticket may be.
func withinSize(e Entry, ticket bool) error {
	most := int64(LargestFile)
	if ticket {
		most = largestTicket
	}
	if e.Size > most {
		return tooLarge(e.Size, most)
	}
	return nil
}
