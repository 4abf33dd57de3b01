package demo

import (
	"bufio"
	"fmt"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"tracewheel/config/samples"
	"tracewheel/pipeline/ledger"
)

// used is the time of computing that this program has had.
func used(b *testing.B) time.Duration {
	b.Helper()
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		b.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// BenchmarkClients plots the smock with so many browsers that look at the board, each with a stream of its own, as it is live:
// what is heard of a change loads the page again. It tells what share of one core the program takes meanwhile, the browsers
// and the pretend plotter with it, and how long the plot takes: the difference between 0 and 50 is what 50 cost.
func BenchmarkClients(b *testing.B) {
	for _, clients := range []int{0, 50} {
		b.Run(fmt.Sprint(clients), func(b *testing.B) {
			var cpu, wall time.Duration
			var heard, loaded atomic.Int64
			for b.Loop() {
				d, err := New(b.Context(), filepath.Join(b.TempDir(), "demo"), io.Discard)
				if err != nil {
					b.Fatal(err)
				}
				var wait sync.WaitGroup
				gone := make(chan struct{})
				for range clients {
					watches(b, d, &wait, gone, &heard, &loaded)
				}
				state := func(want ledger.State) {
					b.Helper()
					for deadline := time.Now().Add(2 * time.Minute); ; time.Sleep(20 * time.Millisecond) {
						j, err := d.shop.Jobs().Job(b.Context(), 1)
						if err == nil && (j.State == want || j.State.Ended()) {
							return
						}
						if time.Now().After(deadline) {
							b.Fatalf("job 1 is not %s: %+v, %v", want, j, err)
						}
					}
				}
				if err := os.WriteFile(filepath.Join(d.Room().Path(d.Room().Folders.Inbox), demoPlotter, "ferry-smock.yaml"), samples.Read("ferry-smock.yaml"), 0o600); err != nil {
					b.Fatal(err)
				}
				state(ledger.Processing)
				began, before := time.Now(), used(b)
				state(ledger.Completed)
				cpu, wall = cpu+used(b)-before, wall+time.Since(began)
				close(gone)
				wait.Wait()
				if err := d.Stop(); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(100*cpu.Seconds()/wall.Seconds(), "%core")
			b.ReportMetric(wall.Seconds()/float64(b.N), "s/plot")
			b.ReportMetric(cpu.Seconds()*1000/float64(b.N), "cpu-ms/plot")
			b.ReportMetric(float64(heard.Load())/float64(b.N), "events")
			b.ReportMetric(float64(loaded.Load())/float64(b.N), "pages")
			b.ReportMetric(0, "ns/op")
		})
	}
}

// watches is a browser that comes in and looks at the board until it is gone.
func watches(b *testing.B, d *Demo, wait *sync.WaitGroup, gone chan struct{}, heard, loaded *atomic.Int64) {
	b.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		b.Fatal(err)
	}
	browser := &http.Client{Jar: jar, Transport: &http.Transport{}}
	address, code, _ := strings.Cut(d.Entrance(), "/enter?code=")
	resp, err := browser.PostForm(address+"/enter", url.Values{"code": {code}})
	if err == nil {
		_ = resp.Body.Close()
		resp, err = browser.Get(address + "/events")
	}
	if err != nil || resp.StatusCode != http.StatusOK {
		b.Fatal(resp, err)
	}
	wait.Go(func() { <-gone; _ = resp.Body.Close(); browser.CloseIdleConnections() })
	wait.Go(func() {
		in := bufio.NewScanner(resp.Body)
		for in.Scan() {
			if strings.HasPrefix(in.Text(), "event: ") {
				heard.Add(1)
			}
			if in.Text() != "event: changed" {
				continue
			}
			if page, err := browser.Get(address + "/"); err == nil {
				_, _ = io.Copy(io.Discard, page.Body) // it is as long as it is
				_ = page.Body.Close()
				loaded.Add(1)
			}
		}
	})
}
