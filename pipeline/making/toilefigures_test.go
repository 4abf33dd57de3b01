package making

import (
	"bytes"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/cloths"
)

// The figures are those of what the ticket asks for: of a toile without the band, of the ticket's body.
func TestFiguresAsTheTicketSays(t *testing.T) {
	m := New(Sample())
	for ticket, want := range map[string][2]string{"": {"for A", "waistband"}, "toile: true\nbody: B\n": {"for B", "toile"}} {
		var b bytes.Buffer
		r := Request{Name: "straight-skirt.yaml", Source: samples.Read("straight-skirt.yaml"), Ticket: []byte(ticket)}
		if _, err := m.Figures(t.Context(), &b, r, cloths.Wish{}, "text"); err != nil {
			t.Fatal(err)
		}
		for _, w := range want {
			if !strings.Contains(b.String(), w) {
				t.Errorf("ticket %q: the figures do not say %q: %.300s", ticket, w, b.String())
			}
		}
		if has := strings.Contains(b.String(), "\nwaistband"); has == (ticket != "") {
			t.Errorf("ticket %q: the waistband is listed: %v", ticket, has)
		}
	}
}
