//go:build unix

package separation

import (
	"context"
	"os"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"
)

func number(name string, unsaid float64) float64 {
	if v, err := strconv.ParseFloat(os.Getenv(name), 64); err == nil {
		return v
	}
	return unsaid
}

// cpuSeconds is the time this process has spent computing.
func cpuSeconds() float64 {
	var r syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &r) != nil {
		return 0
	}
	return time.Duration(r.Utime.Nano() + r.Stime.Nano()).Seconds()
}

// BenchmarkSets says how densely each set is laid in TRACEWHEEL_SECONDS (10) with TRACEWHEEL_SEED (1) on
// TRACEWHEEL_CORES (all); in TRACEWHEEL_CPU seconds of computing on a machine that does other work, or in
// TRACEWHEEL_STEPS.
func BenchmarkSets(b *testing.B) {
	for _, name := range []string{"trousers", "dagli", "mao"} {
		b.Run(name, func(b *testing.B) {
			s, items, area := readSet(b, name)
			seconds := number("TRACEWHEEL_SECONDS", 10)
			var dense, cpu float64
			for range b.N {
				o := Options{Seed: uint64(number("TRACEWHEEL_SEED", 1)), Cores: int(number("TRACEWHEEL_CORES", 0)), Steps: int(number("TRACEWHEEL_STEPS", 0))}
				if o.Steps > 0 {
					seconds = 1e6
				}
				ctx, stop := context.WithTimeout(context.Background(), time.Duration(seconds*float64(time.Second)))
				from := cpuSeconds()
				var lay Layout
				var err error
				if limit := number("TRACEWHEEL_CPU", 0); limit > 0 {
					lay, err = searchByCPU(s, items, o, limit)
				} else {
					lay, err = Search(ctx, s, items, o)
				}
				stop()
				if err != nil {
					b.Fatal(err)
				}
				dense, cpu = 100*area/(s.Width*lay.Length), cpuSeconds()-from
			}
			b.ReportMetric(dense, "%dense")
			b.ReportMetric(cpu, "cpu-s")
			if l, err := os.ReadFile("/proc/loadavg"); err == nil {
				load, _, _ := strings.Cut(string(l), " ")
				b.Logf("load of the machine in the last minute: %s", load)
			}
			b.ReportMetric(0, "ns/op")
		})
	}
}

// searchByCPU is a search whose time is what the process has spent computing, so that other work on the machine
// does not count.
func searchByCPU(s Strip, items []Item, o Options, seconds float64) (Layout, error) {
	ps, err := newPieces(s, items)
	if err != nil {
		return Layout{}, err
	}
	from := cpuSeconds()
	first, places, err := firstPlaces(ps)
	if err != nil {
		return first, err
	}
	b := newBoard(context.Background(), ps, o, func() time.Duration { return time.Duration((cpuSeconds() - from) * 1e9) })
	b.limit = time.Duration(seconds * 1e9)
	lay, _ := ps.layout(b.search(first, places, o.Seed))
	return lay, nil
}
