package inbox

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"go.uber.org/zap"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
)

// ledgerBook is the real ledger as an inbox's book.
type ledgerBook struct{ *ledger.Ledger }

func (b ledgerBook) Enter(ctx context.Context, all ...ledger.Arrival) error {
	_, err := b.EnterAll(ctx, all)
	return err
}
func (b ledgerBook) Late(context.Context, int64) error { return nil }

// BenchmarkClaims drops 10,000 files into one folder and times the first 2,000 claims among them, from
// the decision to the ledger, on the real disk. Half of the files have a ticket in the second round.
func BenchmarkClaims(b *testing.B) {
	for _, tickets := range []bool{false, true} {
		b.Run(fmt.Sprintf("tickets=%v", tickets), func(b *testing.B) {
			for range b.N {
				claims(b, tickets)
			}
		})
	}
}

func claims(b *testing.B, tickets bool) {
	b.StopTimer()
	const files, timed = 10_000, 2_000
	dir := b.TempDir()
	st, err := store.Open(filepath.Join(dir, "store"), store.Disk{})
	if err != nil {
		b.Fatal(err)
	}
	defer st.Close() //nolint:errcheck // a temporary folder
	led, err := ledger.Open(b.Context(), st.LedgerPath(), time.Now)
	if err != nil {
		b.Fatal(err)
	}
	defer led.Close() //nolint:errcheck // a temporary folder
	taker := &Taker{FS: store.Disk{}, Store: st, Book: ledgerBook{led}, Root: filepath.Join(dir, "inbox")}
	folder := taker.Dir("roll-plotter")
	if err := os.MkdirAll(folder, 0o755); err != nil {
		b.Fatal(err)
	}
	for i := range files {
		name := filepath.Join(folder, fmt.Sprintf("p%05d", i))
		if err := os.WriteFile(name+".svg", fmt.Appendf(nil, "<svg>%d</svg>", i), 0o644); err != nil {
			b.Fatal(err)
		}
		if tickets && i%2 == 0 {
			if err := os.WriteFile(name+".ticket.yaml", []byte(card), 0o644); err != nil {
				b.Fatal(err)
			}
		}
	}
	in := New(taker, []string{"roll-plotter"}, Settings{Settle: 10 * time.Millisecond, Rescan: 10 * time.Second}, zap.NewNop())
	ctx, cancel := context.WithCancel(b.Context())
	var run sync.WaitGroup
	known := func(n int64) bool { ok, _ := led.Known(b.Context(), n); return ok }
	run.Go(func() { in.Run(ctx) })
	for !known(1) {
		time.Sleep(time.Millisecond)
	}
	b.StartTimer()
	began := time.Now()
	for !known(timed) {
		time.Sleep(2 * time.Millisecond)
	}
	b.StopTimer()
	b.ReportMetric((timed-1)/time.Since(began).Seconds(), "claims/s")
	cancel()
	run.Wait()
}
