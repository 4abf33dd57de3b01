// Package queue hands files to a print queue of the system (CUPS) and asks for its jobs. It takes a file and a title, and
// gives a job's number and state. Files are handed over by CUPS's own `lp`, and the queue is asked by IPP (RFC 8010 and
// 8011). It knows nothing of what is printed.
package queue

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"regexp"
	"strconv"
	"strings"
	"time"
)

// Queue is a print queue by its name. It asks once for its server's address, and must not be used by several goroutines at
// once.
type Queue struct {
	Name   string
	server string // empty before it is asked for, and after the server did not answer
}

// JobState is the state of a queue's job, by the numbers of RFC 8011, 5.3.7.
type JobState int

// The states. Completed means that all was handed to the printer; the paper may still be wrong.
const (
	Pending    JobState = 3
	Held       JobState = 4
	Processing JobState = 5
	Stopped    JobState = 6
	Canceled   JobState = 7
	Aborted    JobState = 8
	Completed  JobState = 9
)

// String is the state in the words of the RFC.
func (s JobState) String() string {
	names := map[JobState]string{Pending: "pending", Held: "held", Processing: "processing", Stopped: "stopped", Canceled: "canceled", Aborted: "aborted", Completed: "completed"}
	if n, ok := names[s]; ok {
		return n
	}
	return "state " + strconv.Itoa(int(s))
}

// Job is a job of the queue.
type Job struct {
	ID    int
	Title string
	State JobState
	// Says is the printer's last message on it.
	Says string
}

// Printer is the state of the queue's printer.
type Printer struct {
	// Stopped is true for a printer that is paused or faulty; its jobs are only pending.
	Stopped bool
	Says    string
	// Media are its papers by their standard names (PWG 5101.1): "iso_a4_210x297mm".
	Media []string
}

var mediumSize = regexp.MustCompile(`_([\d.]+)x([\d.]+)(mm|in)$`)

// Has tells whether the printer has a paper of a size, mm, upright. A printer that names no papers is taken to have all.
func (p Printer) Has(wide, high float64) bool {
	for _, m := range p.Media {
		size := mediumSize.FindStringSubmatch(m)
		if size == nil {
			continue
		}
		w, _ := strconv.ParseFloat(size[1], 64)
		h, _ := strconv.ParseFloat(size[2], 64)
		if size[3] == "in" {
			w, h = 25.4*w, 25.4*h
		}
		if math.Abs(w-wide) < 1 && math.Abs(h-high) < 1 {
			return true
		}
	}
	return len(p.Media) == 0
}

var requestID = regexp.MustCompile(`request id is \S+-(\d+) \(`)

// HandOver gives a file to the queue under a title; on is the queue's name for the paper. It is printed unscaled, on one
// side. After an error the queue may nevertheless have the file: ask it.
func (q *Queue) HandOver(ctx context.Context, file, title, on string) (id int, err error) {
	out, err := run(ctx, handOverLimit, "lp", "-d", q.Name, "-t", title, "-o", "print-scaling=none", "-o", "sides=one-sided", "-o", "media="+on, "--", file)
	if err != nil {
		return 0, err
	}
	m := requestID.FindStringSubmatch(out)
	if m == nil {
		return 0, fmt.Errorf("lp said %q, which names no job", out)
	}
	return strconv.Atoi(m[1])
}

// Cancel ends a job of the queue.
func (q *Queue) Cancel(ctx context.Context, id int) error {
	_, err := run(ctx, askLimit, "cancel", fmt.Sprintf("%s-%d", q.Name, id))
	return err
}

// Hold keeps a job in the queue until Release. A job that is being printed is broken off, and begins anew after its
// release.
func (q *Queue) Hold(ctx context.Context, id int) error { return q.keep(ctx, id, "hold") }

// Release lets a held job go.
func (q *Queue) Release(ctx context.Context, id int) error { return q.keep(ctx, id, "resume") }

func (q *Queue) keep(ctx context.Context, id int, until string) error {
	_, err := run(ctx, askLimit, "lp", "-i", fmt.Sprintf("%s-%d", q.Name, id), "-H", until)
	return err
}

// The longest time for an answer of the server, and for handing over the pages of a job, perhaps on a slow line.
var askLimit, handOverLimit = 20 * time.Second, 10 * time.Minute

// run runs one of CUPS's programs and gives what it prints.
func run(ctx context.Context, limit time.Duration, name string, args ...string) (string, error) {
	ctx, cancel := context.WithTimeout(ctx, limit)
	defer cancel()
	c := exec.CommandContext(ctx, name, args...)
	c.Env, c.WaitDelay = append(os.Environ(), "LC_ALL=C"), time.Second
	var said strings.Builder
	c.Stderr = &said
	out, err := c.Output()
	switch {
	case errors.Is(err, exec.ErrNotFound):
		return "", fmt.Errorf("%s is not installed: it comes with CUPS (Debian: cups-client)", name)
	case errors.Is(ctx.Err(), context.DeadlineExceeded):
		return "", fmt.Errorf("%s: the print system does not answer within %s", name, limit)
	case err != nil:
		return "", fmt.Errorf("%s: %s", name, words([]string{strings.TrimSpace(said.String()), err.Error()}, " "))
	}
	return strings.TrimSpace(string(out)), nil
}
