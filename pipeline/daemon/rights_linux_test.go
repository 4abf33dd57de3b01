package daemon_test

import (
	"errors"
	"io/fs"
	"os"
	"os/user"
	"path/filepath"
	"runtime"
	"strconv"
	"syscall"
	"testing"

	"go.uber.org/zap"

	"tracewheel/config"
	"tracewheel/devices/needs"
	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/logline"
	"tracewheel/pipeline/reading"
)

// TestOnlyTheUserReads: whatever the umask, and also where an earlier version left the store open,
// nobody else reads drafts, ledger, log or what came back.
func TestOnlyTheUserReads(t *testing.T) {
	defer syscall.Umask(syscall.Umask(0))
	h := daemontest.New(t)
	if err := errors.Join(os.MkdirAll(filepath.Join(h.Settings.Store, "jobs"), 0o777), os.Chmod(h.Settings.Store, 0o777),
		os.WriteFile(filepath.Join(h.Settings.Store, "lock"), nil, 0o666)); err != nil {
		t.Fatal(err)
	}
	room := &config.Workroom{Dir: h.Dir, Log: config.Log{File: "log/x.log", Level: "info", Megabytes: 1, Files: 1}}
	if err := errors.Join(os.MkdirAll(filepath.Join(h.Dir, "log"), 0o700), os.WriteFile(filepath.Join(h.Dir, "log", "x.log"), nil, 0o666)); err != nil {
		t.Fatal(err)
	}
	log, closeLog, err := logline.Open(room, os.Stderr)
	if err != nil {
		t.Fatal(err)
	}
	log.Info("begun", zap.String("stage", "start"))
	defer closeLog()
	h.Start()
	h.Drop("roll-plotter", "skirt.svg", "PU0,0\nPD1,1\n")
	h.Drop("roll-plotter", "bad.svg", "REFUSE")
	h.Until("both have ended", func() bool { return h.Job(1).State.Ended() && h.Job(2).State.Ended() })
	seen := 0
	for _, dir := range []string{h.Settings.Store, h.Settings.Returned, filepath.Join(h.Dir, "log")} {
		if err := filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
			if err != nil {
				return err
			}
			info, err := e.Info()
			if err == nil && info.Mode().Perm()&0o077 != 0 {
				t.Errorf("%s is %v", path, info.Mode())
			}
			seen++
			return err
		}); err != nil {
			t.Error(err)
		}
	}
	if seen < 10 {
		t.Errorf("only %d files and folders were there", seen)
	}
}

// TestNamedGroup: the members of a named group drop files, read what came back and reach the socket,
// and nothing else.
func TestNamedGroup(t *testing.T) {
	g := someGroup(t)
	defer syscall.Umask(syscall.Umask(0o077)) // as the service unit sets it
	h := daemontest.New(t)
	h.Settings.Group = g.Name
	h.Start()
	h.Drop("roll-plotter", "bad.svg", "REFUSE")
	h.Becomes(1, ledger.Aborted)
	for path, want := range map[string]fs.FileMode{
		h.Settings.Inbox: fs.ModeDir | fs.ModeSetgid | 0o770, filepath.Join(h.Settings.Inbox, "roll-plotter"): fs.ModeDir | fs.ModeSetgid | 0o770,
		h.Settings.Returned: fs.ModeDir | fs.ModeSetgid | 0o750, filepath.Join(h.Settings.Returned, "bad-job1"): fs.ModeDir | fs.ModeSetgid | 0o750,
		filepath.Join(h.Settings.Returned, "bad-job1", "bad.svg"): 0o640,
		h.Settings.Store: fs.ModeDir | 0o710, filepath.Join(h.Settings.Store, "control"): fs.ModeDir | 0o750,
		filepath.Join(h.Settings.Store, "control", "socket"): fs.ModeSocket | 0o660,
	} {
		info, err := os.Lstat(path)
		if err != nil {
			t.Error(err)
			continue
		}
		if gid := strconv.FormatUint(uint64(info.Sys().(*syscall.Stat_t).Gid), 10); info.Mode() != want || gid != g.Gid {
			t.Errorf("%s is %v of group %s and not %v of group %s", path, info.Mode(), gid, want, g.Gid)
		}
	}
	for _, name := range []string{"ledger.db", "lock", "jobs"} {
		if info, err := os.Lstat(filepath.Join(h.Settings.Store, name)); err != nil || info.Mode().Perm()&0o077 != 0 {
			t.Errorf("%s: %v, %v", name, info.Mode(), err)
		}
	}
}

// TestMemberReadsThroughTheDaemon: a member of the named group may not open the ledger, and the daemon
// reads it for them.
func TestMemberReadsThroughTheDaemon(t *testing.T) {
	needs.Right(t, os.Geteuid() == 0, "only the superuser can act as another user")
	g := someGroup(t)
	gid, err := strconv.Atoi(g.Gid)
	if err != nil {
		t.Fatal(err)
	}
	h := daemontest.New(t)
	h.Settings.Group = g.Name
	h.Start()
	h.Drop("roll-plotter", "bad.svg", "REFUSE")
	h.Becomes(1, ledger.Aborted)
	for dir := h.Dir; len(dir) > len(os.TempDir()); dir = filepath.Dir(dir) {
		if err := os.Chmod(dir, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	room := &config.Workroom{Dir: h.Dir, Folders: config.Folders{Store: h.Settings.Store}}
	done := make(chan struct{})
	go func() { // its thread ends with it, and with that the other user
		defer close(done)
		runtime.LockOSThread()
		if err := errors.Join(syscall.Setfsgid(gid), syscall.Setfsuid(65534)); err != nil {
			t.Error(err)
			return
		}
		if f, err := os.Open(filepath.Join(h.Settings.Store, "ledger.db")); !errors.Is(err, fs.ErrPermission) {
			t.Errorf("the ledger is open to a member: %v, %v", f, err)
		}
		r, err := reading.Look(t.Context(), room)
		if err != nil {
			t.Error(err)
			return
		}
		defer r.Close() //nolint:errcheck // only read
		if jobs, err := r.Jobs(t.Context(), ledger.Filter{}); err != nil || len(jobs) != 1 || jobs[0].State != ledger.Aborted {
			t.Errorf("%+v, %v", jobs, err)
		}
	}()
	<-done
}

// someGroup is one that this process may give to files.
func someGroup(t *testing.T) *user.Group {
	ids, err := os.Getgroups()
	if err != nil {
		t.Fatal(err)
	}
	if os.Geteuid() == 0 {
		ids = append(ids, 1)
	}
	for _, id := range ids {
		if g, err := user.LookupGroupId(strconv.Itoa(id)); err == nil && id != 0 {
			return g
		}
	}
	needs.Right(t, false, "this user has no group with a name")
	return nil
}
