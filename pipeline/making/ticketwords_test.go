package making

import (
	"strings"
	"testing"
)

// TestTicketWordsAreNamed: what is wrong with a ticket, or asked about it, names the word or the draft that it is about.
func TestTicketWordsAreNamed(t *testing.T) {
	room := Sample()
	room.CopiesUnasked = 2
	for ticket, want := range map[string]string{
		"with: square.svg": "the ticket: with: wants a list",
		"copies: 0":        "the ticket: copies: 0 is no number of copies",
		"due: Friday":      `the ticket: due: "Friday" is no day`,
		"copies: 2\nallowance: included\nwith: [{file: square.svg, copies: 3}]": "the ticket wants 3 copies of square.svg, and up to 2 are made unasked",
		"copies: 3\nallowance: included\n":                                      "the ticket wants 3 copies, and up to 2",
	} {
		w, err := New(room).Make(t.Context(), Request{Job: 7, Name: "own.svg", Device: "roll-plotter", Source: []byte(square200),
			Ticket: []byte(ticket), With: map[string][]byte{"square.svg": []byte(square200)}})
		if err != nil {
			t.Fatal(err)
		}
		if said := w.Reason + w.Hold; !strings.Contains(said, want) {
			t.Errorf("%s: %s, want %s", ticket, said, want)
		}
	}
}
