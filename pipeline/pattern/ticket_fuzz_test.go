package pattern

import (
	"errors"
	"slices"
	"testing"

	"tracewheel/config"
)

// FuzzTicket: whatever the bytes of a ticket, it is read or has faults, each with its line.
func FuzzTicket(f *testing.F) {
	for _, s := range []string{"sizes: [38, 40]\ncopies: 2\npieces: [front]\nmaterial: canvas\nbody: B\nallowance: 10mm\nunit: cm\nnote: n\n", "allowance: included", "due: 2026-03-14\nproduction: Harbour Lights", "due: Friday", "copys: 2", "copies: -1", "allowance: 3/0 in", "a: &a [*a]", "with: [a.svg, {file: b.yaml, body: B, copies: 2}]\nbodies: [A, B]\n", "with: [{file: ../a}]", "with: &w [{file: b.yaml, bodies: *w}]", "note: &n a.svg\nwith: [*n]", "note: &n a.svg\nwith: [{file: *n}]"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		ticket, err := ReadTicket(data)
		if named := WithOf(data); err == nil {
			for _, w := range ticket.With {
				if !slices.Contains(named, w.File) {
					t.Errorf("the ticket names %q, and only %q are held for it", w.File, named)
				}
			}
			return
		}
		var faults *config.Faults
		if !errors.As(err, &faults) || len(faults.List) == 0 {
			t.Fatalf("%T without a line: %v", err, err)
		}
		for _, ft := range faults.List {
			if ft.Line < 1 || ft.Text == "" {
				t.Errorf("a fault without a line or words: %+v", ft)
			}
		}
	})
}
