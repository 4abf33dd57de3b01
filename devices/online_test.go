package devices_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"tracewheel/devices"
)

// stepLine carries bytes in steps of time into a buffer from which whole blocks are drawn; it knows
// nothing of the formula. A byte of the block being drawn keeps its room until the block is done.
func stepLine(blocks []devices.Block, baud float64, buffer int) float64 {
	const dt = 1e-4
	var total, cum int
	ends := make([]int, len(blocks))
	for i, b := range blocks {
		total += len(b.Bytes)
		ends[i] = total
	}
	var now, come, drawing float64
	at := -1 // the block being drawn
	for next := 0; next < len(blocks) || at >= 0; now += dt {
		if come < float64(total) && come-float64(cum) < float64(buffer) {
			come += dt * baud / 10
		}
		if at >= 0 {
			if drawing -= dt; drawing <= 0 {
				cum, at = ends[at], -1
			}
		}
		for at < 0 && next < len(blocks) && come >= float64(ends[next])-1e-9 {
			at, drawing = next, blocks[next].Seconds
			next++
			if drawing <= 0 {
				cum, at = ends[at], -1
			}
		}
	}
	return now
}

// TestOnLine holds the waits for bytes against a line in steps of time.
func TestOnLine(t *testing.T) {
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 1))
	for range 40 {
		var blocks []devices.Block
		slow := math.Pow(10, rnd.Float64()*2-2)
		for range 60 {
			blocks = append(blocks, devices.Block{Bytes: make([]byte, 10+rnd.IntN(230)), Seconds: slow * rnd.Float64()})
		}
		want := stepLine(blocks, 9600, 1024)
		devices.OnLine(blocks, devices.PortProfile{Baud: 9600, Buffer: 1024})
		got := 0.0
		for _, b := range blocks {
			got += b.Seconds
		}
		if math.Abs(got-want) > 0.05*want {
			t.Errorf("%.2f s, the line takes %.2f", got, want)
		}
	}
	one := []devices.Block{{Bytes: make([]byte, 960), Seconds: 2}}
	if devices.OnLine(one, devices.PortProfile{}); one[0].Seconds != 2 {
		t.Errorf("%v s without a speed", one[0].Seconds)
	}
	if devices.OnLine(one, devices.PortProfile{Baud: 9600, DataBits: 7, Parity: "even", StopBits: 1}); one[0].Seconds != 3 {
		t.Errorf("%v s for 960 bytes of ten bits and two seconds of drawing", one[0].Seconds)
	}
}
