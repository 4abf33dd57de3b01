package pattern

import (
	"strings"
	"testing"
)

// TestWhatATicketMayName: a ticket, an unfinished file or a name that a terminal obeys is no draft that a ticket names, and
// what a ticket names is what is held for it: one that is merged in is refused.
func TestWhatATicketMayName(t *testing.T) {
	for _, c := range []struct{ ticket, want string }{
		{"with: [skirt.ticket.yaml]", `"skirt.ticket.yaml" is a ticket: name the draft that it belongs to`},
		{"with: [{file: Hat.Ticket.YML}]", "is a ticket"},
		{"with: [lining.svg.part]", "is no name of a draft"},
		{"with: [thumbs.db]", "is no name of a draft"},
		{"with: [.taken-3-lining.svg]", "is no name of a draft"},
		{`with: ["li\u202ening.svg"]`, `"li\u202ening.svg" is no name of a draft`},
		{`with: ["lining\e[2J.svg"]`, `"lining\x1b[2J.svg" is no name of a draft`},
		{"with: [{<<: {file: lining.svg}, copies: 2}]", "<<"},
		{"with: [{file: !!binary bGluaW5nLnN2Zw==}]", "write lining.svg out under with:"},
	} {
		_, err := ReadTicket([]byte(c.ticket))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v", c.ticket, err)
		}
		for _, n := range WithOf([]byte(c.ticket)) {
			if !strings.HasPrefix(n, "bGlu") { // what stands there, and no file that lies there
				t.Errorf("%s: %q is held for it", c.ticket, n)
			}
		}
	}
	for _, ticket := range []string{"with: [lining.svg, part.svg]", "<<: {with: [lining.svg]}", "note: &n with\n*n : [lining.svg]"} {
		if read, err := ReadTicket([]byte(ticket)); err == nil && len(read.With) != len(WithOf([]byte(ticket))) {
			t.Errorf("%s: read are %v, held %v", ticket, read.With, WithOf([]byte(ticket)))
		}
	}
}
