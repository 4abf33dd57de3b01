package ledger

import "fmt"

// FarSaid says how far the run surely came, and what is not known of it.
func (s Send) FarSaid() string {
	if s.NothingSent() {
		return "nothing was sent"
	}
	if s.Tool == NoTool {
		return fmt.Sprintf("%d of %d bytes were handed over", s.Bytes, s.Total)
	}
	if s.Bytes == 0 && s.Sure < 0 {
		return fmt.Sprintf("how much was made is %s", Unknown)
	}
	text := fmt.Sprintf("at least %d of %d bytes were sent", s.Bytes, s.Total)
	if s.Stroke >= 0 {
		text += fmt.Sprintf(", the last sure stroke is number %d", s.Stroke+1)
	} else {
		text += ", which strokes were made is " + Unknown
	}
	if s.Tool == Unknown {
		text += ", whether the tool is up is " + Unknown
	}
	return text
}

// AllSent tells whether every byte was sent, so that only a person can say whether all was made. What a run from the
// middle leaves out counts as sent.
func (s Send) AllSent() bool { return s.Total > 0 && s.Bytes >= s.Total }

// NothingSent tells whether this is a job's only run and ended before its first byte, as when its port was missing.
func (s Send) NothingSent() bool {
	return s.No == 1 && s.Bytes == 0 && s.Sure < 0 && (s.End == "stopped" || s.End == "canceled")
}
