package stock

import (
	"strings"
	"testing"

	"tracewheel/pipeline/ledger"
)

// TestLength: lengths with their units (1 in = 25.4 mm, 1 yd = 914.4 mm, exactly, by the agreement of 1959), and what is said
// of a bare number and of a comma.
func TestLength(t *testing.T) {
	for _, c := range []struct {
		text, unit string
		mm         float64
		want       string
	}{
		{"3m", "mm", 3000, ""}, {"47 1/2in", "mm", 1206.5, ""}, {"3yd", "in", 2743.2, ""}, {"140cm", "in", 1400, ""}, {"0", "in", 0, ""},
		{"3500", "mm", 3500, ""},
		{"3", "mm", 0, `"3" has no unit, and 3 mm is hardly meant: say 3m, 3cm, or 3mm if it is`},
		{"60", "in", 0, `"60" has no unit, and a bare number is mm: say 60in, or 60mm if that is meant`},
		{"60", "cm", 0, `"60" has no unit, and a bare number is mm: say 60cm, or 60mm if that is meant`},
		{"1,4m", "mm", 0, `"1,4m" is not a length; write it as 1.4m`},
		{"wide", "mm", 0, `"wide" is not a length; write it as 3m, 120cm or 47 1/2in`},
		{"-3m", "mm", 0, `"-3m" is a length below nought`},
	} {
		mm, err := Length(c.text, c.unit)
		if c.want == "" && (err != nil || mm != c.mm) || c.want != "" && (err == nil || !strings.HasPrefix(err.Error(), c.want)) {
			t.Errorf("%q in a workroom of %s: %v, %v; want %v %s", c.text, c.unit, mm, err, c.mm, c.want)
		}
	}
}

// TestLine: a job of which nothing could be booked is not told as if all that lies there had been taken.
func TestLine(t *testing.T) {
	for want, e := range map[string]ledger.StockEvent{
		"nothing booked by job 1: 1200 mm, to be checked":              {Kind: ledger.StockBooked, Job: 1, Length: 1200, Check: true},
		"booked, 958.6 mm less by job 7: 441.4 mm":                     {Kind: ledger.StockBooked, Change: -958.6, Job: 7, Length: 441.4},
		"added, 1200 mm more: 1200 mm (login sam)":                     {Kind: ledger.StockAdded, Change: 1200, Length: 1200, Who: "login sam"},
		"kept as a remnant, 300 mm less by job 2: 0 mm, to be checked": {Kind: ledger.StockCutOff, Change: -300, Job: 2, Check: true},
	} {
		if got := Line(e, "mm"); got != want {
			t.Errorf("%q, not %q", got, want)
		}
	}
}
