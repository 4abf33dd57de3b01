// Package needs brings tests what judges this program from outside: programs and rights of the system, and open data
// that lie beside a checkout. A test that lacks one is skipped, and says what brings it.
package needs

import (
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
)

// Program is where a program of the system lies; debian is the package that brings it. With arguments it is
// tried with them first, as a library is that only a program can tell of.
func Program(t testing.TB, debian, name string, args ...string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err == nil && len(args) > 0 {
		err = exec.Command(path, args...).Run()
	}
	if err != nil {
		t.Skipf("%s is not installed (Debian: %s), and nothing else judges this: %v", strings.Join(append([]string{name}, args...), " "), debian, err)
	}
	return path
}

// Data is a file of the open data sets, which are not committed.
func Data(t testing.TB, parts ...string) []byte {
	t.Helper()
	dir, err := os.Getwd()
	for err == nil {
		if _, missing := os.Stat(filepath.Join(dir, "go.mod")); missing == nil {
			break
		}
		if dir == filepath.Dir(dir) {
			t.Fatal("the module's root was not found")
		}
		dir = filepath.Dir(dir)
	}
	if err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(parts...)
	data, err := os.ReadFile(filepath.Join(dir, "..", "shared", name))
	if err != nil {
		t.Skipf("the open data of %s do not lie beside this checkout: %v", name, err)
	}
	return data
}

// Right skips a test where the system withholds a right that no test can give itself, such as to be another user, and why
// says which. .ci/run, as root on a bare Debian machine, has all of them but CAP_LEASE in some containers, and fails on any
// other skip: there each of these tests proves what it says.
func Right(t testing.TB, has bool, why string) {
	t.Helper()
	if !has {
		t.Skip(why)
	}
}

// Link makes a symbolic link at a path. On Windows that takes a right that a user seldom has.
func Link(t testing.TB, to, at string) {
	t.Helper()
	err := os.Symlink(to, at)
	Right(t, err == nil || runtime.GOOS != "windows", "this user may make no links")
	if err != nil {
		t.Fatal(err)
	}
}
