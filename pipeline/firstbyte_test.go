package pipeline

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"go.uber.org/zap"

	"tracewheel/config"
	"tracewheel/devices/pretend"
	"tracewheel/devices/pretend/pretendtest"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/newroom"
	"tracewheel/pipeline/pattern"
)

// thirtyPieces is a draft of 30 pieces, each a curved panel with a sew line, notches and grain.
func thirtyPieces() []byte {
	var b strings.Builder
	b.WriteString(`<svg xmlns="http://www.w3.org/2000/svg" width="3000mm" height="2000mm" viewBox="0 0 3000 2000"><title>Thirty panels</title>`)
	for i := range 30 {
		x, y := 20+float64(i%10)*290, 20+float64(i/10)*600
		fmt.Fprintf(&b, `<g data-piece="Panel %d" data-quantity="1" transform="translate(%g %g)">`, i+1, x, y)
		b.WriteString(`<path class="cut" d="M0 500 L250 500 L250 180 A150 150 0 0 1 200 0 L50 0 A150 150 0 0 1 0 180 Z"/>` +
			`<line class="notch" x1="250" y1="350" x2="245" y2="350"/><line class="notch" x1="0" y1="350" x2="5" y2="350"/>` +
			`<line class="grain" x1="125" y1="460" x2="125" y2="60"/></g>`)
	}
	b.WriteString(`</svg>`)
	return []byte(b.String())
}

// BenchmarkSettledToFirstByte times a draft of 30 pieces from the moment it has settled in the inbox
// to its first byte at the far end of a pseudo-terminal: claimed, read, checked, prepared, laid out,
// planned, encoded, entered in the ledger and begun. The time a file must stay unchanged is taken off.
func BenchmarkSettledToFirstByte(b *testing.B) {
	const settle = 100 * time.Millisecond
	link := pretendtest.Pty(b)
	first := make(chan time.Time, 1)
	plotter := pretend.NewPlotter(link, pretend.PlotterOptions{Sink: func([]byte) {
		select {
		case first <- time.Now():
		default:
		}
	}})
	defer plotter.Close()
	room, shop := benchShop(b, plotter.Path(), settle)
	draft := thirtyPieces()
	var sum time.Duration
	for i := range b.N {
		select {
		case <-first:
		default:
		}
		name := filepath.Join(room.Path(room.Folders.Inbox), "roll-plotter", fmt.Sprintf("panels-%d.svg", i))
		if err := os.WriteFile(name, draft, 0o644); err != nil {
			b.Fatal(err)
		}
		dropped := time.Now()
		select {
		case at := <-first:
			sum += at.Sub(dropped) - settle
		case <-time.After(20 * time.Second):
			b.Fatal("no byte came")
		}
		waitIdle(b, shop)
	}
	b.ReportMetric(float64(sum.Milliseconds())/float64(b.N), "ms/settled-to-first-byte")
}

func benchShop(b *testing.B, port string, settle time.Duration) (*config.Workroom, *Workshop) {
	b.Helper()
	dir := b.TempDir()
	if _, err := newroom.Write(dir, making.Sample()); err != nil {
		b.Fatal(err)
	}
	file := filepath.Join(dir, "workroom.yaml")
	text := strings.Replace(string(config.SampleFile()), "path: /dev/ttyUSB0 ", "path: "+port+" ", 1)
	text = strings.Replace(text, "baud: 9600\n      data_bits", "baud: 115200\n      data_bits", 1)
	text = strings.Replace(text, "settle: 0.75s", "settle: "+settle.String(), 1)
	if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
		b.Fatal(err)
	}
	room, err := config.Load(file, pattern.RuleNames())
	if err != nil {
		b.Fatal(err)
	}
	shop, err := New(b.Context(), room, zap.NewNop())
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() {
		if err := shop.Stop(context.Background()); err != nil {
			b.Log(err)
		}
	})
	if err := shop.Start(b.Context()); err != nil {
		b.Fatal(err)
	}
	return room, shop
}

// waitIdle waits until every job has ended.
func waitIdle(b *testing.B, shop *Workshop) {
	b.Helper()
	for end := time.Now().Add(60 * time.Second); ; time.Sleep(20 * time.Millisecond) {
		jobs, err := shop.Jobs().Jobs(b.Context(), ledgerUnended)
		if err != nil {
			b.Fatal(err)
		}
		if len(jobs) == 0 {
			return
		}
		if time.Now().After(end) {
			b.Fatalf("job %d is still %s: %s", jobs[0].ID, jobs[0].State, jobs[0].Reason)
		}
	}
}

var ledgerUnended = ledger.Filter{States: []ledger.State{ledger.Pending, ledger.Held, ledger.Processing, ledger.Stopped}}
