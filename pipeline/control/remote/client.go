// Package remote is the socket in the store by which people's commands reach the daemon: what they wish and ask of
// control.Jobs, and what is read for who may not open the ledger. It moves no job itself.
package remote

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"net"
	"path/filepath"
	"syscall"
	"time"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/control/socket"
	"tracewheel/pipeline/places"
)

// ErrNoDaemon means that no daemon runs on the store.
var ErrNoDaemon = errors.New("no daemon runs on this store")

// Client speaks to the daemon that runs on a store. It is used from one goroutine.
type Client struct {
	c   net.Conn
	in  *bufio.Reader
	out *json.Encoder

	// Who is what the person who asks calls themselves, as asker.Name takes it; empty for none.
	Who string
}

// Dial reaches the daemon of a store; ErrNoDaemon where none runs.
func Dial(ctx context.Context, storeDir string) (*Client, error) {
	c, err := socket.Dial(ctx, filepath.Join(socketDir(storeDir), socketName))
	switch {
	case errors.Is(err, fs.ErrNotExist), errors.Is(err, syscall.ECONNREFUSED):
		return nil, fmt.Errorf("%w (%q): start it with: tracewheel run", ErrNoDaemon, storeDir)
	case errors.Is(err, fs.ErrPermission):
		return nil, fmt.Errorf("the daemon on %q belongs to another user, and only that one may speak to it: %w", storeDir, err)
	case err != nil:
		return nil, fmt.Errorf("reaching the daemon on %q: %w", storeDir, err)
	}
	return &Client{c: c, in: bufio.NewReader(c), out: json.NewEncoder(c)}, nil
}

// Close hangs up.
func (c *Client) Close() error { return c.c.Close() }

func (c *Client) ask(ctx context.Context, req request) (a answer, err error) {
	stop := context.AfterFunc(ctx, func() { _ = c.c.Close() })
	defer stop()
	req.Who = c.Who
	if err := c.out.Encode(req); err != nil {
		return a, lost(ctx, err)
	}
	line, err := c.in.ReadBytes('\n')
	if err != nil {
		return a, lost(ctx, err)
	}
	if err := json.Unmarshal(line, &a); err != nil {
		return a, fmt.Errorf("the daemon's answer: %w", err)
	}
	return a, a.err()
}

func lost(ctx context.Context, err error) error {
	if ctx.Err() != nil {
		return ctx.Err()
	}
	return fmt.Errorf("the daemon hung up: %w", err)
}

func (c *Client) wish(ctx context.Context, do string, job int64) error {
	_, err := c.ask(ctx, request{Do: do, Job: job})
	return err
}

// Hold, Release, Cancel, Pause, Resume and AgainPieces are the methods of control.Jobs of those names; what
// cannot be done comes back as a *control.Refusal.
func (c *Client) Hold(ctx context.Context, job int64) error { return c.wish(ctx, doHold, job) }

// Release lets a held job go, with answers to what it asks.
func (c *Client) Release(ctx context.Context, job int64, answers map[string]string, said control.Confirmation) error {
	return c.ReleaseLay(ctx, job, answers, said, "")
}

// ReleaseLay is Release of the lay that was shown.
func (c *Client) ReleaseLay(ctx context.Context, job int64, answers map[string]string, said control.Confirmation, lay string) error {
	_, err := c.ask(ctx, request{Do: doRelease, Job: job, Answers: answers, Said: said, Lay: lay})
	return err
}

// ReleaseOn has a held job laid on a remnant, or on the roll.
func (c *Client) ReleaseOn(ctx context.Context, job int64, remnant string, answers map[string]string) error {
	_, err := c.ask(ctx, request{Do: doRelease, Job: job, Remnant: remnant, Answers: answers})
	return err
}

// Better has a shorter lay sought for a held job.
func (c *Client) Better(ctx context.Context, job int64, seek time.Duration) error {
	_, err := c.ask(ctx, request{Do: doBetter, Job: job, Seconds: seek.Seconds()})
	return err
}

// ToolUp makes a job that runs another with the tool up, and gives its number.
func (c *Client) ToolUp(ctx context.Context, job int64, how string, said control.Confirmation) (int64, error) {
	a, err := c.ask(ctx, request{Do: doToolUp, Job: job, How: how, Said: said})
	return a.Job, err
}

// Cancel ends a job.
func (c *Client) Cancel(ctx context.Context, job int64) error { return c.wish(ctx, doCancel, job) }

// Next puts a job that waits before the others of its device.
func (c *Client) Next(ctx context.Context, job int64) error { return c.wish(ctx, doNext, job) }

// Pause stops a running job.
func (c *Client) Pause(ctx context.Context, job int64) error { return c.wish(ctx, doPause, job) }

// Resume lets a stopped job go on.
func (c *Client) Resume(ctx context.Context, job int64, from string, said control.Confirmation) error {
	_, err := c.ask(ctx, request{Do: doResume, Job: job, From: from, Said: said})
	return err
}

// AgainPieces makes a new job of another, of the pieces named, of those of a cloth or of all for "", and gives its number and
// what the pieces are called.
func (c *Client) AgainPieces(ctx context.Context, job int64, pieces, cloth string) (int64, string, error) {
	a, err := c.ask(ctx, request{Do: doAgain, Job: job, Pieces: pieces, Cloth: cloth})
	return a.Job, a.Called, err
}

// Sheet says of what lies on a device that falls silent whether it is whole or spoilt.
func (c *Client) Sheet(ctx context.Context, job int64, whole bool) error {
	if whole {
		return c.wish(ctx, doWhole, job)
	}
	return c.wish(ctx, doSpoilt, job)
}

// Points lists where a job that was cut short can go on.
func (c *Client) Points(ctx context.Context, job int64) ([]places.Point, error) {
	a, err := c.ask(ctx, request{Do: doPoints, Job: job})
	return a.Points, err
}

// Page asks the workroom's page for what control.PageEntrance and the others name.
func (c *Client) Page(ctx context.Context, wish string, browser int) (string, error) {
	a, err := c.ask(ctx, request{Do: wish, Browser: browser})
	return a.Page, err
}

// ToolChanged notes that a device's pen or blade was changed.
func (c *Client) ToolChanged(ctx context.Context, device string) error {
	_, err := c.ask(ctx, request{Do: doChanged, reading: reading{Device: device}})
	return err
}

// ToStock takes down what a person says of a material's stock.
func (c *Client) ToStock(ctx context.Context, w control.StockWish) (control.StockTaken, error) {
	a, err := c.ask(ctx, request{Do: doToStock, Stock: &w})
	return a.Stock, err
}

// Now is the last moment of each job that is being sent.
func (c *Client) Now(ctx context.Context) ([]control.Progress, error) {
	a, err := c.ask(ctx, request{Do: doNow})
	return a.Now, err
}
