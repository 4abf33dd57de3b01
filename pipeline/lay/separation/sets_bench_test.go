//go:build unix

package separation

import (
	"context"
	"os"
	"slices"
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

// cpuSeconds is the processor time of this process.
func cpuSeconds() float64 {
	var r syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &r) != nil {
		return 0
	}
	return time.Duration(r.Utime.Nano() + r.Stime.Nano()).Seconds()
}

// published are densities in % for comparison: averages of 100 runs of 20 minutes on three threads of a fast desktop
// (Gardeyn, Vanden Berghe and Wauters 2025, arXiv 2509.13329).
var published = map[string]float64{"trousers": 91.73, "dagli": 89.26, "mao": 86.14}

// BenchmarkSets reports the density of each set in TRACEWHEEL_SECONDS (10) on TRACEWHEEL_CORES (all); in
// TRACEWHEEL_CPU seconds of processor time on a machine with other load, where 120 stand for a minute on two cores; or
// in TRACEWHEEL_STEPS. It reports TRACEWHEEL_SEEDS (1) seeds from TRACEWHEEL_SEED (1) on, and their median.
func BenchmarkSets(b *testing.B) {
	for _, name := range []string{"trousers", "dagli", "mao"} {
		b.Run(name, func(b *testing.B) {
			s, items, area := readSet(b, name)
			first, seeds := uint64(number("TRACEWHEEL_SEED", 1)), max(1, int(number("TRACEWHEEL_SEEDS", 1)))
			var dense []float64
			from := cpuSeconds()
			for range b.N {
				dense = nil
				for k := range seeds {
					began, o := cpuSeconds(), Options{Seed: first + uint64(k), Cores: int(number("TRACEWHEEL_CORES", 0)), Steps: int(number("TRACEWHEEL_STEPS", 0))}
					lay, err := searchSet(s, items, o)
					if err != nil {
						b.Fatal(err)
					}
					dense = append(dense, 100*area/(s.Width*lay.Length))
					b.Logf("seed %d: %.2f %% dense, %.1f s of computing", o.Seed, dense[k], cpuSeconds()-began)
				}
			}
			slices.Sort(dense)
			median := (dense[(seeds-1)/2] + dense[seeds/2]) / 2
			b.Logf("median %.2f, published average %.2f", median, published[name])
			b.ReportMetric(median, "%dense")
			b.ReportMetric((cpuSeconds()-from)/float64(b.N*seeds), "cpu-s")
			if l, err := os.ReadFile("/proc/loadavg"); err == nil {
				load, _, _ := strings.Cut(string(l), " ")
				b.Logf("load of the machine in the last minute: %s", load)
			}
			b.ReportMetric(0, "ns/op")
		})
	}
}

// searchSet searches for as long as the environment variables say.
func searchSet(s Strip, items []Item, o Options) (Layout, error) {
	if limit := number("TRACEWHEEL_CPU", 0); limit > 0 {
		return searchByCPU(s, items, o, limit)
	}
	ctx := context.Background()
	if o.Steps == 0 {
		end, stop := context.WithTimeout(ctx, time.Duration(number("TRACEWHEEL_SECONDS", 10)*float64(time.Second)))
		defer stop()
		ctx = end
	}
	return Search(ctx, s, items, o)
}

// searchByCPU is a search bounded by the process's processor time, so that other load on the machine does not count.
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
