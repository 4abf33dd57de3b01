package remote

import (
	"bufio"
	"context"
	"net"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"go.uber.org/goleak"
	"go.uber.org/zap"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/control/socket"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// room is the jobs of a daemon that answers on a socket, with what they are kept in.
type room struct {
	*control.Jobs
	led *ledger.Ledger
	st  *store.Store
}

func served(t *testing.T) (dir string, d room) {
	t.Helper()
	// A path longer than the 107 bytes that a socket's name may have on Linux (unix(7)).
	dir = t.TempDir()
	if runtime.GOOS == "linux" {
		dir = filepath.Join(dir, strings.Repeat("a-long-name-", 10))
	}
	st, err := store.Open(dir, store.Disk{})
	if err != nil {
		t.Fatal(err)
	}
	led, err := ledger.Open(t.Context(), st.LedgerPath(), nil)
	if err != nil {
		t.Fatal(err)
	}
	d = room{control.New(led, st, zap.NewNop(), nil), led, st}
	s, err := Serve(d.Jobs, dir, store.NoGroup, zap.NewNop())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		for _, c := range []func() error{s.Close, led.Close, st.Close} {
			if err := c(); err != nil {
				t.Error(err)
			}
		}
	})
	return dir, d
}

// TestSocketOfAnother: closing a listener leaves the socket that another put in its place.
func TestSocketOfAnother(t *testing.T) {
	path := filepath.Join(t.TempDir(), "socket")
	first, err := socket.Listen(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Rename(path, path+"-old"); err != nil {
		t.Fatal(err)
	}
	second, err := socket.Listen(path)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = second.Close() }()
	if err := first.Close(); err != nil {
		t.Fatal(err)
	}
	if runtime.GOOS != "linux" {
		return // the library removes by name there
	}
	c, err := socket.Dial(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	_ = c.Close()
}

// TestSocketMeetsNonsense: a stranger's words do no harm, and others are answered meanwhile.
func TestSocketMeetsNonsense(t *testing.T) {
	dir, _ := served(t)
	for _, words := range []string{"\n", "{}\n", "GET / HTTP/1.1\r\n\r\n", `{"do":"fly","job":1}` + "\n", strings.Repeat("x", 2*requestLimit) + "\n", `{"do":"cancel"`} {
		c, err := socket.Dial(t.Context(), filepath.Join(dir, "control", "socket"))
		if err != nil {
			t.Fatal(err)
		}
		if err := c.SetDeadline(time.Now().Add(10 * time.Second)); err != nil {
			t.Fatal(err)
		}
		_, _ = c.Write([]byte(words))
		if strings.HasSuffix(words, "\n") && len(words) < requestLimit {
			line, err := bufio.NewReader(c).ReadString('\n')
			if err != nil || !strings.Contains(line, `"error"`) {
				t.Errorf("%.20q is answered %q, %v", words, line, err)
			}
		}
		_ = c.Close()
	}
	cl, err := Dial(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	defer cl.Close()
	if now, err := cl.Now(t.Context()); err != nil || len(now) != 0 {
		t.Errorf("%v, %v", now, err)
	}
}

func TestSilentDaemon(t *testing.T) {
	dir := t.TempDir()
	if err := os.Mkdir(socketDir(dir), 0o700); err != nil {
		t.Fatal(err)
	}
	ln, err := socket.Listen(filepath.Join(socketDir(dir), socketName))
	if err != nil {
		t.Fatal(err)
	}
	defer func(ln net.Listener) { _ = ln.Close() }(ln)
	ctx, cancel := context.WithTimeout(t.Context(), 50*time.Millisecond)
	defer cancel()
	c, err := Dial(ctx, dir)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	if err := c.Hold(ctx, 1); err == nil {
		t.Error("a daemon that never answers was believed")
	}
}
