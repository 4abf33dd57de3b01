package folder

import (
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"
)

// TestKilledWhileSaving: killing the program while it saves leaves either the old or the new draft, whole, and the
// older ones whole in .versions; readers during a save never see a partial file. The next save continues from there.
// The test starts its own binary and kills it.
func TestKilledWhileSaving(t *testing.T) {
	const asked = "TRACEWHEEL_TEST_SAVES"
	body := strings.Repeat("a line of a draft\n", 12000)
	whole := func(text []byte) (n int, ok bool) {
		head, rest, _ := strings.Cut(string(text), "\n")
		n, err := strconv.Atoi(head)
		return n, err == nil && rest == body
	}
	if file := os.Getenv(asked); file != "" {
		for {
			old, err := Read(file)
			if err != nil {
				t.Fatal(err)
			}
			n, _ := whole(old)
			if err := Save(file, fmt.Appendf(nil, "%d\n%s", n+1, body), VersionOf(old)); err != nil {
				t.Fatal(err)
			}
		}
	}
	seed := uint64(time.Now().UnixNano())
	if said, err := strconv.ParseUint(os.Getenv("TRACEWHEEL_SEED"), 10, 64); err == nil {
		seed = said
	}
	t.Logf("TRACEWHEEL_SEED=%d", seed)
	chance := rand.New(rand.NewPCG(seed, 0))
	file := filepath.Join(t.TempDir(), "sash.yaml")
	if err := Create(file, fmt.Appendf(nil, "%d\n%s", 0, body)); err != nil {
		t.Fatal(err)
	}
	before := 0
	for range 4 {
		saves := exec.Command(os.Args[0], "-test.run=^TestKilledWhileSaving$")
		saves.Env = append(os.Environ(), asked+"="+file)
		if err := saves.Start(); err != nil {
			t.Fatal(err)
		}
		// Readers see a whole draft at each moment.
		for end, wanted := time.Now().Add(time.Minute), before+1+chance.IntN(8); ; {
			now, err := Read(file)
			n, ok := whole(now)
			if err != nil || !ok {
				t.Errorf("while it is saved the file begins with %.60q and has %d bytes: %v", now, len(now), err)
				break
			}
			if n >= wanted {
				break
			}
			if time.Now().After(end) {
				t.Error("nothing is saved")
				break
			}
		}
		time.Sleep(time.Duration(chance.IntN(5_000)) * time.Microsecond)
		_ = saves.Process.Kill()
		_ = saves.Wait() // killed
		now, err := Read(file)
		n, ok := whole(now)
		if err != nil || !ok || n <= before {
			t.Fatalf("after %d the file begins with %.60q: %v", before, now, err)
		}
		old, err := Versions(file)
		if err != nil || len(old) == 0 || len(old) > Most+1 {
			t.Fatalf("%d older versions: %v", len(old), err)
		}
		newest := -1
		for _, v := range old {
			text, err := Read(v.File)
			k, ok := whole(text)
			if err != nil || !ok {
				t.Fatalf("the older version %s begins with %.60q: %v", v.ID, text, err)
			}
			newest = max(newest, k)
		}
		if newest < n-1 {
			t.Fatalf("the file is %d, and the newest older version %d", n, newest)
		}
		before = n
	}
}
