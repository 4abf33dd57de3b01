//go:build cups && linux

package making

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"tracewheel/devices/queue"
	"tracewheel/devices/queue/queuetest"
	"tracewheel/pipeline/sheets"
)

// TestSheetsThroughCUPS: what a real print queue gives to its printer is read back as the sheets are: every piece in its
// place within 0.05 mm, up to one shift of each page, which is read from its frame.
func TestSheetsThroughCUPS(t *testing.T) {
	server := queuetest.Start(t)
	q := queue.Queue{Name: server.Name}
	for _, paper := range []string{"a4", "letter", "a4 landscape", "letter landscape"} {
		on, err := sheets.ParsePaper(paper, -1)
		if err != nil {
			t.Fatal(err)
		}
		m := New(Sample())
		source, err := os.ReadFile("../../testdata/drafts/apron-mm.svg")
		if err != nil {
			t.Fatal(err)
		}
		wish := SheetWish{Paper: on, Overlap: sheets.Overlap}
		rs := []Request{{Name: "apron-mm.svg", Source: source}}
		set, _, err := m.sheetSet(t.Context(), rs, wish)
		if err != nil {
			t.Fatal(err)
		}
		book, _, err := m.Sheets(t.Context(), rs, wish)
		if err != nil {
			t.Fatal(err)
		}
		file := filepath.Join(t.TempDir(), "x.pdf")
		if err := os.WriteFile(file, book.PDF, 0o600); err != nil {
			t.Fatal(err)
		}
		id, err := q.HandOver(t.Context(), file, "apron on "+paper, on.Medium(on.Height))
		if err != nil {
			t.Fatal(err)
		}
		for end := time.Now().Add(time.Minute); ; time.Sleep(100 * time.Millisecond) {
			all, err := q.Jobs(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			var j queue.Job
			for _, o := range all {
				if o.ID == id {
					j = o
				}
			}
			if j.State == queue.Completed {
				break
			}
			if j.State > queue.Processing || time.Now().After(end) {
				t.Fatalf("%s: %+v", paper, j)
			}
		}
		printed := *book
		if printed.PDF, err = os.ReadFile(server.Printed); err != nil {
			t.Fatal(err)
		}
		if string(printed.PDF) == string(book.PDF) {
			t.Errorf("%s: the queue gave the file on as it is, so that nothing was tried", paper)
		}
		asDrawn := func(p orb.Point) orb.Point { return p }
		if on.Width > on.Height { // the queue turns the page to its paper, and a person turns the paper back
			asDrawn = func(p orb.Point) orb.Point { return orb.Point{p[1], on.Height - p[0]} }
		}
		if err := readsBackPrinted(t, &printed, set.Ready, asDrawn); err != nil {
			t.Errorf("%s: %v", paper, err)
		}
	}
}
