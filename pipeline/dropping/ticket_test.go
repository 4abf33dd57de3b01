package dropping

import (
	"errors"
	"net/url"
	"slices"
	"strings"
	"testing"

	"tracewheel/config"
	"tracewheel/pipeline/pattern"
)

// TestTicketOfFields: what the fields of the drop page say is a ticket that says just that when it is read as every ticket,
// whatever letters stand in it; further lines go with it, and nothing is said twice.
func TestTicketOfFields(t *testing.T) {
	ticket := TicketForm(&config.Workroom{})
	form := url.Values{}
	for key, said := range map[string]string{"copies": "2", "sizes": "38, 40", "material": "calico", "body": "chorus-4", "allowance": "10mm",
		"production": "Harbour lights: act 2 # evening", "wearer": `Ottilie "the tall"`, "due": "2026-12-14", "note": "- [no\nlist]: 'x'"} {
		form.Set("say-"+key, said)
	}
	form.Set("ticket", " toile: true\r\n")
	text, err := ticket.Written(form)
	if err != nil {
		t.Fatal(err)
	}
	got, err := pattern.ReadTicket(text)
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	if got.Copies != 2 || !slices.Equal(got.Sizes, []string{"38", "40"}) || got.Material != "calico" || got.Body != "chorus-4" || got.Allowance != "10mm" ||
		got.Production != "Harbour lights: act 2 # evening" || got.Wearer != `Ottilie "the tall"` || got.Due != "2026-12-14" || got.Note != "- [no\nlist]: 'x'" || !got.Toile {
		t.Errorf("%+v\n%s", got, text)
	}
	if text, err := ticket.Written(url.Values{"say-copies": {" "}, "ticket": {"\r\n"}}); err != nil || len(text) != 0 {
		t.Errorf("nothing is said, and the ticket is %q, %v", text, err)
	}
	for says, form := range map[string]url.Values{
		"is said in its field and again as copies": {"say-copies": {"2"}, "ticket": {"copies: 3"}},
		"is no number of copies":                   {"say-copies": {"two"}},
		"stand in brackets":                        {"say-wearer": {"Ottilie"}, "ticket": {"{copies: 2}"}},
	} {
		if text, err := ticket.Written(form); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%v becomes %q, %v", form, text, err)
		}
	}
}

// TestTicketIsJudged: what the job's ticket could not be read with is told at its field before anything is kept; of the further
// lines with the place in them, however many fields stand before them.
func TestTicketIsJudged(t *testing.T) {
	ticket := TicketForm(&config.Workroom{})
	for _, c := range []struct {
		form  url.Values
		field string
		says  []string
	}{
		{url.Values{"say-allowance": {"ten"}, "say-wearer": {"Ottilie"}}, "say-allowance", []string{"ten"}},
		{url.Values{"say-copies": {"2"}, "say-due": {"tomorrow"}}, "say-due", []string{"tomorrow"}},
		{url.Values{"say-wearer": {"Ottilie"}, "ticket": {"toile: true\r\ncopies: [3"}}, "ticket", []string{"at the end of line 2: "}},
		{url.Values{"say-wearer": {"Ottilie"}, "say-note": {"a\nb"}, "ticket": {"copeis: 4"}}, "ticket", []string{"line 1, column 1: copeis: "}},
		{url.Values{"ticket": {"allowance: ten"}}, "ticket", []string{"line 1, column 12: allowance: "}},
		{url.Values{"say-body": {"A"}, "ticket": {"bodies: [A, B]"}}, "ticket", []string{"line 1, column 9: bodies: "}},
		{url.Values{"ticket": {"copies"}}, "ticket", []string{"line 1"}},
	} {
		text, err := ticket.Written(c.form)
		var at AtField
		if !errors.As(err, &at) || at.Field != c.field || !strings.Contains(err.Error(), "Nothing was kept") {
			t.Errorf("%v becomes %q, %v at %q", c.form, text, err, at.Field)
			continue
		}
		for _, says := range c.says {
			if !strings.Contains(err.Error(), says) {
				t.Errorf("%v: %v", c.form, err)
			}
		}
	}
}
