package pattern

import (
	"slices"
	"strings"
	"testing"
)

// TestTicketFaultsNameTheWord: a ticket's fault says which word is wrong, in a draft under with: too. No copies is not
// taken for one.
func TestTicketFaultsNameTheWord(t *testing.T) {
	for ticket, want := range map[string]string{
		"copies: 0":                        "ticket:1:9: copies: 0 is no number of copies; write how many are wanted",
		"copies: -2":                       "ticket:1:9: copies: -2 is no number of copies",
		"copies: many":                     "copies: wants a whole number, not \"many\"",
		"with: [{file: a.svg, copies: 0}]": "ticket:1:30: with[0].copies: 0 is no number of copies",
		"with: [b.svg, {file: a.svg, copeis: 2}]":   "ticket:1:29: with[1].copeis: there is no such key; did you mean copies?",
		"with:\n- {file: a.svg, sizes: 12}":         "ticket:2:24: with[0].sizes: wants a list",
		"with: [[a.svg]]":                           "with[0]: a draft is named as in",
		"with: [{file: a.svg, body: A, copies: x}]": "with[0].copies: wants a whole number",
	} {
		if _, err := ReadTicket([]byte(ticket)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %s", ticket, err, want)
		}
	}
	for _, ticket := range []string{"copies:", "note: n", "with: [{file: a.svg, copies: ~}]", "note: &n 3\ncopies: *n", "with: [{file: a.svg, copies: 2}]"} {
		if _, err := ReadTicket([]byte(ticket)); err != nil {
			t.Errorf("%q: %v", ticket, err)
		}
	}
}

// TestPiecesLine: the line that advice gives is read as every ticket is, and chooses just those pieces.
func TestPiecesLine(t *testing.T) {
	want := []string{"front", "collar: upper", "facing, left", "strap #2", `the "long" tie`, "[a] {b}"}
	got, err := ReadTicket([]byte(PiecesLine(want) + "\n"))
	if err != nil || !slices.Equal(got.Pieces, want) {
		t.Errorf("%s is read as %q, %v", PiecesLine(want), got.Pieces, err)
	}
	if line := PiecesLine([]string{"front", "back 2"}); line != "pieces: [front, back 2]" {
		t.Errorf("plain names are not written plainly: %s", line)
	}
}
