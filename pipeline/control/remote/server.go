package remote

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net"
	"os"
	"path/filepath"
	"sync"
	"time"

	"go.uber.org/zap"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/control/asker"
	"tracewheel/pipeline/control/socket"
	"tracewheel/pipeline/store"
)

// Server answers on the local socket in the store.
type Server struct {
	jobs *control.Jobs
	log  *zap.Logger
	ln   net.Listener
	stop context.CancelFunc
	wait sync.WaitGroup

	mu    sync.Mutex
	conns map[net.Conn]bool
}

// requestLimit bounds one request, idle the time for one to come.
const (
	requestLimit = 64 << 10
	idle         = time.Minute
)

// Serve listens in the store, whose lock the caller holds: a socket left there by a killed daemon
// is therefore nobody's, and removed. The members of a group may speak too; store.NoGroup names none.
func Serve(jobs *control.Jobs, storeDir string, group int, log *zap.Logger) (*Server, error) {
	dir := socketDir(storeDir)
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("making the folder of the control socket: %w", err)
	}
	dirPerm, perm := store.Private, store.PrivateFile
	if group != store.NoGroup {
		dirPerm, perm = 0o750, 0o660
	}
	if err := (store.Disk{}).Rights(dir, group, dirPerm); err != nil {
		return nil, fmt.Errorf("closing the folder of the control socket to others: %w", err)
	}
	path := filepath.Join(dir, socketName)
	if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("removing the control socket of an earlier run: %w", err)
	}
	ln, err := socket.Listen(path)
	if err != nil {
		return nil, fmt.Errorf("opening the control socket: %w", err)
	}
	if err := (store.Disk{}).Rights(path, group, perm); err != nil {
		return nil, errors.Join(err, ln.Close())
	}
	ctx, stop := context.WithCancel(context.Background())
	s := &Server{jobs: jobs, log: log, ln: ln, stop: stop, conns: map[net.Conn]bool{}}
	s.wait.Go(func() { s.accept(ctx) })
	return s, nil
}

// Close hangs up on everybody and waits until all is answered or dropped.
func (s *Server) Close() error {
	s.stop()
	err := s.ln.Close()
	s.mu.Lock()
	for c := range s.conns {
		_ = c.Close()
	}
	s.mu.Unlock()
	s.wait.Wait()
	if errors.Is(err, net.ErrClosed) {
		return nil
	}
	return err
}

func (s *Server) accept(ctx context.Context) {
	for {
		c, err := s.ln.Accept()
		if ctx.Err() != nil || errors.Is(err, net.ErrClosed) {
			if err == nil {
				_ = c.Close()
			}
			return
		}
		if err != nil {
			// Out of descriptors, say: it passes.
			s.log.Warn("control socket", zap.Error(err))
			select {
			case <-ctx.Done():
				return
			case <-time.After(100 * time.Millisecond):
				continue
			}
		}
		s.mu.Lock()
		s.conns[c] = true
		s.mu.Unlock()
		s.wait.Go(func() {
			s.talk(ctx, c)
			s.mu.Lock()
			delete(s.conns, c)
			s.mu.Unlock()
			_ = c.Close()
		})
	}
}

func (s *Server) talk(ctx context.Context, c net.Conn) {
	in := bufio.NewReader(io.LimitReader(c, 1<<30))
	out := json.NewEncoder(c)
	login := socket.Peer(c)
	for ctx.Err() == nil {
		if err := c.SetReadDeadline(time.Now().Add(idle)); err != nil {
			return
		}
		line, err := readLine(in)
		if err != nil {
			return
		}
		var req request
		if err := json.Unmarshal(line, &req); err != nil {
			_ = out.Encode(answer{Error: "not a request: " + err.Error()})
			return
		}
		who, err := asker.Name(req.Who)
		if err != nil && req.Do != doHold && req.Do != doPause && req.Do != doCancel {
			_ = out.Encode(failed(err))
			return
		}
		if err != nil { // nobody looks for a better name while a machine runs
			s.log.Warn("a stop is asked with a name that cannot be taken, so it is done without the name",
				zap.String("stage", "control"), zap.Int64("job", req.Job), zap.Error(err))
		}
		if out.Encode(s.do(asker.ByLogin(ctx, login, who), req)) != nil {
			return
		}
	}
}

// readLine reads one line of at most requestLimit bytes.
func readLine(in *bufio.Reader) ([]byte, error) {
	var line []byte
	for {
		part, err := in.ReadSlice('\n')
		line = append(line, part...)
		if len(line) > requestLimit {
			return nil, errors.New("a request too long")
		}
		if !errors.Is(err, bufio.ErrBufferFull) {
			return line, err
		}
	}
}

func (s *Server) do(ctx context.Context, req request) answer {
	a := answer{OK: true, Job: req.Job}
	var err error
	switch req.Do {
	case doHold:
		err = s.jobs.Hold(ctx, req.Job)
	case doRelease:
		if req.Remnant != "" {
			err = s.jobs.ReleaseOn(ctx, req.Job, req.Remnant, req.Answers)
			break
		}
		err = s.jobs.ReleaseLay(ctx, req.Job, req.Answers, req.Said, req.Lay)
	case doBetter:
		err = s.jobs.Better(ctx, req.Job, time.Duration(req.Seconds*float64(time.Second)))
	case doCancel:
		err = s.jobs.Cancel(ctx, req.Job)
	case doNext:
		err = s.jobs.Next(ctx, req.Job)
	case doPause:
		err = s.jobs.Pause(ctx, req.Job)
	case doResume:
		err = s.jobs.Resume(ctx, req.Job, req.From, req.Said)
	case doAgain:
		a.Job, a.Called, err = s.jobs.AgainPieces(ctx, req.Job, req.Pieces, req.Cloth)
	case doWhole, doSpoilt:
		err = s.jobs.Sheet(ctx, req.Job, req.Do == doWhole)
	case doToolUp:
		a.Job, err = s.jobs.ToolUp(ctx, req.Job, req.How, req.Said)
	case doPoints:
		a.Points, err = s.jobs.Points(ctx, req.Job)
	case control.PageEntrance, control.PagePair, control.PagePaired, control.PageUnpair:
		a.Page, err = s.jobs.AskPage(req.Do, req.Browser)
	case doChanged:
		if err = s.jobs.ToolChanged(ctx, req.Device, -1); err == nil {
			asker.LogChanged(ctx, s.log, req.Device)
		}
	case doToStock:
		if req.Stock == nil {
			return failed(errors.New("nothing is said of the stock"))
		}
		a.Stock, err = s.jobs.ToStock(ctx, *req.Stock)
	case doNow:
		a.Now = s.jobs.Now()
	default:
		var known bool
		if a.Read, known, err = s.read(ctx, req); known {
			break
		}
		err = fmt.Errorf("%q is no request that this daemon knows: it may be older than the command", req.Do)
	}
	if err != nil {
		return failed(err)
	}
	asker.LogWish(ctx, s.log, req.Do, req.Job)
	return a
}
