package hooks

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"strconv"
	"time"

	"tracewheel/config"
)

// program runs a command that nobody else can write, with the facts on its standard input. It gets an environment of its own and no descriptor beside
// its three, of which the other two lead nowhere. After its time, and when it has ended, all that is left of its process
// group is killed; what made a session of its own (setsid(2)) has left the group and stays.
func (h *Hooks) program(ctx context.Context, command []string, f facts, text []byte) error {
	if err := config.Mine(command[0]); err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(ctx, h.limit)
	defer cancel()
	c := exec.CommandContext(ctx, command[0], command[1:]...)
	c.Dir = h.room().Dir
	c.Env = []string{"PATH=" + os.Getenv("PATH"), "HOME=" + os.Getenv("HOME"), "TRACEWHEEL_EVENT=" + f.Event,
		"TRACEWHEEL_JOB=" + strconv.FormatInt(f.Job, 10), "TRACEWHEEL_DEVICE=" + f.Device}
	c.Stdin = bytes.NewReader(text)
	c.WaitDelay = time.Second
	ownGroup(c)
	closeInherited()
	c.Cancel = func() error { return killGroup(c) }
	if err := c.Start(); err != nil {
		return err
	}
	err := c.Wait()
	_ = killGroup(c) // what it left running
	if errors.Is(ctx.Err(), context.DeadlineExceeded) {
		return fmt.Errorf("%q took longer than %s and was ended", command[0], h.limit)
	}
	if errors.Is(err, exec.ErrWaitDelay) {
		return nil // it ended without reading all
	}
	return err
}

// post sends the facts to a web address. It follows no redirection and goes through no proxy. Its error does not name the
// address, which may hold a secret.
func (h *Hooks) post(ctx context.Context, address string, text []byte) (err error) {
	defer func() {
		if whole := new(url.Error); errors.As(err, &whole) {
			err = whole.Err
		}
	}()
	ctx, cancel := context.WithTimeout(ctx, h.limit)
	defer cancel()
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, address, bytes.NewReader(text))
	if err != nil {
		return err
	}
	req.Header.Set("Content-Type", "application/json")
	client := http.Client{Transport: &http.Transport{DisableKeepAlives: true},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	answer, err := client.Do(req)
	if err != nil {
		return err
	}
	_ = answer.Body.Close() // nothing of it is wanted
	if answer.StatusCode < 200 || answer.StatusCode > 299 {
		return fmt.Errorf("it answers %s", answer.Status)
	}
	return nil
}
