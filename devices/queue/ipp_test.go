//go:build unix

package queue

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"tracewheel/devices/queue/queuetest"
)

var header = []byte{2, 0, 0, 0, 0, 0, 0, 1}

// TestJobIsAskedByItsNumber: the server is looked for once, and again after it did not answer.
func TestJobIsAskedByItsNumber(t *testing.T) {
	var say []byte
	p := queuetest.StartPretend(t, func(uint16) []byte { return say }, nil)
	q := &Queue{Name: "sheets"}
	say = queuetest.JobAnswer(7, uint32(Processing), "apron")
	for range 3 {
		if j, known, err := q.Job(t.Context(), 7); err != nil || !known || j != (Job{ID: 7, Title: "apron", State: Processing}) {
			t.Fatalf("%+v, %v, %v", j, known, err)
		}
	}
	if p.Asked(0x0009) != 3 || p.Asked(0x000A) != 0 || p.Ran("lpstat") != 1 {
		t.Errorf("it was asked of one job %d times, of all %d times, and looked for %d times", p.Asked(0x0009), p.Asked(0x000A), p.Ran("lpstat"))
	}
	for name, bad := range map[string][]byte{
		"another job":   queuetest.JobAnswer(8, uint32(Completed), "apron"),
		"no job":        queuetest.JobAnswer(0, 0, ""),
		"no such state": queuetest.JobAnswer(7, 70, "apron"),
		"below zero":    queuetest.JobAnswer(0xFFFFFFFF, uint32(Completed), "apron"),
		"nothing":       {},
		"a page":        []byte("<html><body>It works!</body></html>"),
	} {
		say = bad
		if j, known, err := q.Job(t.Context(), 7); err == nil {
			t.Errorf("%s: %+v, %v", name, j, known)
		}
	}
	// By RFC 8011, 4.1.6 and appendix B.1.4.7: not found is a job of which the printer knows nothing, or the printer.
	say = []byte{2, 0, 4, 6, 0, 0, 0, 1, 3}
	if _, known, err := q.Job(t.Context(), 7); known || err == nil || !strings.Contains(err.Error(), `has no queue "sheets"`) {
		t.Errorf("no queue: %v, %v", known, err)
	}
	q.server = "127.0.0.1:1" // where nothing answers
	if _, _, err := q.Job(t.Context(), 7); err == nil || q.server != "" {
		t.Errorf("a server that is gone stays remembered: %q, %v", q.server, err)
	}
}

// TestAnswersAreBounded: what a server may say is bounded in size, and comes to a terminal as one plain line.
func TestAnswersAreBounded(t *testing.T) {
	var say []byte
	queuetest.StartPretend(t, func(uint16) []byte { return say }, nil)
	q := &Queue{Name: "sheets"}
	say = append(slices.Clone(header), bytes.Repeat([]byte{groupJob}, mostGroups+1)...)
	if _, err := q.Jobs(t.Context()); err == nil || !strings.Contains(err.Error(), "more than 30000 things") {
		t.Errorf("too many groups: %v", err)
	}
	say = append(slices.Clone(header), make([]byte, largestAnswer)...)
	if _, err := q.Jobs(t.Context()); err == nil || !strings.Contains(err.Error(), "longer than") {
		t.Errorf("too long: %v", err)
	}
	say = queuetest.JobAnswer(7, uint32(Aborted), "apron")
	say = queuetest.Attribute(say[:len(say)-1], 0x41, "job-printer-state-message", "no\x1b[2Jpaper\n\xff"+strings.Repeat("a", 60000))
	say = append(say, groupEnd)
	j, _, err := q.Job(t.Context(), 7)
	if err != nil || !strings.HasPrefix(j.Says, "no [2Jpaper \uFFFDaaa") || len([]rune(j.Says)) != longestWords+1 {
		t.Errorf("%q, %v", j.Says, err)
	}
}

// TestErrorsArePlainWords: what a program or a server says of a fault comes to a terminal as one bounded line too.
func TestErrorsArePlainWords(t *testing.T) {
	queuetest.StartPretend(t, func(uint16) []byte { return nil }, map[string]string{
		"cancel": `printf 'no\033[2J such\n' >&2; head -c 70000 /dev/zero | tr '\0' a >&2; exit 1`})
	err := (&Queue{Name: "sheets"}).Cancel(t.Context(), 7)
	if err == nil || !strings.HasPrefix(err.Error(), "cancel: no [2J such aaa") || len(err.Error()) > 2*longestWords {
		t.Errorf("%.100q", fmt.Sprint(err))
	}
}

// TestRedirectsAreRefused: the address that a server names in its place is not asked.
func TestRedirectsAreRefused(t *testing.T) {
	var asked atomic.Int64
	elsewhere := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		asked.Add(1)
		_, _ = w.Write(queuetest.JobAnswer(7, uint32(Completed), "apron"))
	}))
	defer elsewhere.Close()
	for _, code := range []int{http.StatusFound, http.StatusTemporaryRedirect, http.StatusPermanentRedirect} {
		server := httptest.NewServer(http.RedirectHandler(elsewhere.URL, code))
		q := &Queue{Name: "sheets", server: strings.TrimPrefix(server.URL, "http://")}
		if j, _, err := q.Job(t.Context(), 7); err == nil || !strings.Contains(err.Error(), strconv.Itoa(code)) {
			t.Errorf("%d: %+v, %v", code, j, err)
		}
		server.Close()
	}
	if asked.Load() > 0 {
		t.Error("a redirect was followed")
	}
}

// TestProgramsAreBoundedInTime: one that hangs is ended, with what it started.
func TestProgramsAreBoundedInTime(t *testing.T) {
	p := queuetest.StartPretend(t, func(uint16) []byte { return nil }, map[string]string{"cancel": "sleep 600"})
	old := askLimit
	askLimit = 200 * time.Millisecond
	defer func() { askLimit = old }()
	if err := (&Queue{Name: "sheets"}).Cancel(t.Context(), 7); err == nil || !strings.Contains(err.Error(), "does not answer within") {
		t.Errorf("%v", err)
	}
	if _, err := os.Stat(filepath.Join(p.Dir, "cancel.asked")); err != nil {
		t.Error(err)
	}
}

// FuzzAnswer: no answer, however broken, is more than an error. The seeds are a whole answer, each of its beginnings,
// and it with each byte turned over.
func FuzzAnswer(f *testing.F) {
	whole := queuetest.JobAnswer(7, uint32(Held), "apron")
	whole = queuetest.Attribute(whole[:len(whole)-1], 0x44, "", "a further value")
	whole = append(queuetest.Attribute(whole, tagInteger, "copies", "xy"), groupEnd)
	for i := range whole {
		f.Add(whole[:i])
		turned := slices.Clone(whole)
		turned[i] ^= 0xFF
		f.Add(turned)
	}
	f.Add(whole)
	f.Add(queuetest.Attribute(slices.Clone(header), tagInteger, "before any group", "abcd"))
	f.Add(binary.BigEndian.AppendUint16(append(slices.Clone(header), groupJob, tagName), 0xFFFF))
	f.Fuzz(func(t *testing.T, data []byte) {
		groups, err := answer(data)
		if err != nil && groups != nil {
			t.Errorf("an error and %d groups", len(groups))
		}
		jobs, err := jobsOf(groups)
		for _, j := range jobs {
			if err != nil || j.ID < 1 || j.State < Pending || j.State > Completed {
				t.Errorf("%+v, %v", j, err)
			}
		}
	})
}
