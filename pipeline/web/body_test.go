package web

import (
	"bufio"
	"fmt"
	"io"
	"net"
	"net/http"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"go.uber.org/zap"
)

// TestBodyThatStandsStill: what a browser sends is ended where nothing comes any more, also where it trickles, and the
// browser hears why, whatever is asked for; what comes slowly but steadily is taken, and an answer may take longer than a body may stand still.
func TestBodyThatStandsStill(t *testing.T) {
	const stall = 2 * time.Second
	s, err := New(Options{Address: "127.0.0.1:0", Sessions: filepath.Join(t.TempDir(), "browsers.json"), Title: func() string { return "" }, Log: zap.NewNop(), Stall: stall})
	if err != nil {
		t.Fatal(err)
	}
	s.Handle("POST /move", func(w http.ResponseWriter, r *http.Request) {
		if r.PostFormValue("a") == "late" {
			time.Sleep(stall + stall/2)
		}
		if err := r.Context().Err(); err != nil {
			t.Errorf("what came whole is given up: %v", err)
		}
		_, _ = io.WriteString(w, "moved "+r.PostFormValue("a"))
	})
	s.Handle("POST /raw", func(w http.ResponseWriter, r *http.Request) { // reads for itself
		_, err := io.ReadAll(r.Body)
		status, text := BodyFault(err, 1)
		http.Error(w, text, status)
	})
	s.Start()
	t.Cleanup(func() { _ = s.Stop(t.Context()) }) // all was heard
	cookie, err := s.Door.Enter(s.Door.NewCode(false), "", "127.0.0.1")
	if err != nil {
		t.Fatal(err)
	}
	var all sync.WaitGroup
	for name, c := range map[string]struct {
		path, kind  string
		length      int
		parts       []string
		pause       time.Duration
		status, say string
	}{
		"nothing comes":       {"POST /move", "application/x-www-form-urlencoded", 100, nil, 0, "408", "nothing came for"},
		"half comes":          {"POST /move", "application/x-www-form-urlencoded", 100, []string{"a=ha"}, 0, "408", "nothing came for"},
		"nothing, as JSON":    {"POST /raw", "application/json", 100, nil, 0, "408", "nothing came for"},
		"it trickles":         {"POST /raw", "application/json", 100, strings.Split(strings.Repeat("x", 60), ""), stall / 5, "408", "came too slowly"},
		"nothing at the door": {"POST /enter", "application/x-www-form-urlencoded", 100, nil, 0, "408", "nothing came for"},
		"GET with a body":     {"GET /enter", "application/x-www-form-urlencoded", 100, nil, 0, "200", "code"},
		"PUT, not served":     {"PUT /enter", "application/x-www-form-urlencoded", 100, nil, 0, "405", ""},
		"in parts":            {"POST /move", "application/x-www-form-urlencoded", 6, []string{"a=", "s", "l", "ow"}, stall / 2, "200", "moved slow"},
		"late answer":         {"POST /move", "application/x-www-form-urlencoded", 6, []string{"a=late"}, 0, "200", "moved late"},
	} {
		all.Go(func() {
			conn, err := net.Dial("tcp", s.ln.Addr().String())
			if err != nil {
				t.Error(err)
				return
			}
			defer conn.Close() //nolint:errcheck // only read
			_ = conn.SetReadDeadline(time.Now().Add(time.Minute))
			fmt.Fprintf(conn, "%s HTTP/1.1\r\nHost: localhost\r\nCookie: %s=%s\r\nContent-Type: %s\r\nContent-Length: %d\r\n\r\n", c.path, s.Door.cookie, cookie, c.kind, c.length)
			go func() {
				for _, part := range c.parts {
					_, _ = io.WriteString(conn, part) // it may be ended
					time.Sleep(c.pause)
				}
			}()
			resp, err := http.ReadResponse(bufio.NewReader(conn), nil)
			if err != nil {
				t.Errorf("%s: no answer: %v", name, err)
				return
			}
			defer resp.Body.Close() //nolint:errcheck // read whole
			text, err := io.ReadAll(resp.Body)
			if err != nil || !strings.HasPrefix(resp.Status, c.status) || !strings.Contains(string(text), c.say) {
				t.Errorf("%s: %s %s: %v", name, resp.Status, text, err)
			}
		})
	}
	all.Wait()
}

// TestLargeBodyIsTold: a body that is larger than its handler takes is told as such, with how much may come.
func TestLargeBodyIsTold(t *testing.T) {
	r := newRig(t)
	_, code, _ := strings.Cut(r.Entrance(), "code=")
	r.enter(code)
	if status, text, _ := r.ask("POST", "/move", "a="+strings.Repeat("x", formLimit)); status != http.StatusRequestEntityTooLarge || !strings.Contains(text, "larger than 64 kB") {
		t.Errorf("%d %s", status, text)
	}
}
