package store

import (
	"bytes"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"tracewheel/devices/needs"

	"golang.org/x/sys/unix"
)

// askAs lets this test binary, started again as another user, answer NoWriter for a file.
const askAs = "TRACEWHEEL_TEST_NO_WRITER"

func TestMain(m *testing.M) {
	if path := os.Getenv(askAs); path != "" {
		err := Disk{}.NoWriter(path)
		switch {
		case err == nil:
			os.Stdout.WriteString("nobody")
		case errors.Is(err, ErrWriting):
			os.Stdout.WriteString("somebody")
		case errors.Is(err, ErrCannotTell):
			os.Stdout.WriteString("cannot tell")
		default:
			os.Stdout.WriteString(err.Error())
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

func leased(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "draft.yaml")
	if err := os.WriteFile(path, []byte("half"), 0o644); err != nil {
		t.Fatal(err)
	}
	err := (Disk{}).NoWriter(path)
	needs.Right(t, !errors.Is(err, ErrCannotTell), "read leases do not work here")
	if err != nil {
		t.Fatal(err)
	}
	return path
}

// TestNoWriter holds to fcntl(2): a read lease is refused while the file is open for writing, however
// it was opened, and not for readers.
func TestNoWriter(t *testing.T) {
	path := leased(t)
	for flag, want := range map[int]error{os.O_RDONLY: nil, os.O_WRONLY: ErrWriting, os.O_RDWR: ErrWriting, os.O_WRONLY | os.O_APPEND: ErrWriting} {
		f, err := os.OpenFile(path, flag, 0)
		if err != nil {
			t.Fatal(err)
		}
		if err := (Disk{}).NoWriter(path); !errors.Is(err, want) {
			t.Errorf("open with %#x: %v and not %v", flag, err, want)
		}
		if err := f.Close(); err != nil {
			t.Fatal(err)
		}
	}
	// The lease was given back: opening for writing does not wait for it to be broken.
	f, err := os.OpenFile(path, os.O_WRONLY|unix.O_NONBLOCK, 0)
	if err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
}

// TestAnotherUsersFile: of another user's file nothing can be told without CAP_LEASE, and all with it,
// which the service unit gives (capabilities(7)).
func TestAnotherUsersFile(t *testing.T) {
	needs.Right(t, os.Geteuid() == 0, "becoming a second user needs root")
	path := leased(t)
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	program, err := os.ReadFile(self)
	if err != nil {
		t.Fatal(err)
	}
	dir, err := os.MkdirTemp("", "second-user")
	if err != nil {
		t.Fatal(err)
	}
	defer os.RemoveAll(dir) //nolint:errcheck // a temporary folder
	binary, file := filepath.Join(dir, "ask"), filepath.Join(dir, "draft.yaml")
	if err := errors.Join(os.Chmod(dir, 0o755), os.WriteFile(binary, program, 0o755), os.Rename(path, file)); err != nil {
		t.Fatal(err)
	}
	ask := func(caps ...uintptr) string {
		t.Helper()
		cmd := exec.Command(binary)
		cmd.Env, cmd.Dir = append(os.Environ(), askAs+"="+file), dir
		cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}, AmbientCaps: caps}
		var errs bytes.Buffer
		cmd.Stderr = &errs
		out, err := cmd.Output()
		needs.Right(t, !errors.Is(err, syscall.EPERM), "this container gives no CAP_LEASE away")
		if err != nil {
			t.Fatalf("%v %s", err, errs.String())
		}
		return strings.TrimSpace(string(out))
	}
	writer, err := os.OpenFile(file, os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	if got := ask(); got != "cannot tell" {
		t.Errorf("without the capability: %q", got)
	}
	if got := ask(unix.CAP_LEASE); got != "somebody" {
		t.Errorf("with a writer: %q", got)
	}
	if err := writer.Close(); err != nil {
		t.Fatal(err)
	}
	if got := ask(unix.CAP_LEASE); got != "nobody" {
		t.Errorf("without a writer: %q", got)
	}
}
