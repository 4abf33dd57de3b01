// Package queuetest starts a print server for a test: CUPS on loopback with its own folders, without systemd, and one
// queue whose printer is a file. It stops with the test.
package queuetest

import (
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"tracewheel/devices/needs"
)

// Server is a running print server. Name is its queue's, Printed the file with the pages as the printer would get
// them, which each job overwrites.
type Server struct{ Name, Printed string }

const serverFiles = `ServerRoot %[1]s/etc
StateDir %[1]s/run
CacheDir %[1]s/cache
RequestRoot %[1]s/spool
TempDir %[1]s/spool/tmp
ServerKeychain %[1]s/etc/ssl
AccessLog %[1]s/log/access_log
ErrorLog %[1]s/log/error_log
PageLog %[1]s/log/page_log
FileDevice Yes
SystemGroup root
`

const serverConf = `LogLevel info
MaxLogSize 0
Listen 127.0.0.1:%[2]d
Listen %[1]s/run/cups.sock
Browsing Off
DefaultAuthType None
WebInterface No
IdleExitTimeout 0
PreserveJobHistory Yes
<Location />
  Order allow,deny
  Allow from 127.0.0.1
</Location>
<Location /admin>
  Order allow,deny
  Allow from 127.0.0.1
</Location>
<Policy default>
  <Limit All>
    Order deny,allow
  </Limit>
</Policy>
`

// Start starts one and points this process at it (CUPS_SERVER).
func Start(t *testing.T) Server {
	t.Helper()
	for _, need := range []string{"/usr/sbin/cupsd", "/usr/sbin/lpadmin", "/usr/bin/lp"} {
		needs.Program(t, "cups, cups-client, cups-filters", need)
	}
	dir, err := os.MkdirTemp("", "cups") // a short name: it holds a socket
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = os.RemoveAll(dir) })
	for _, d := range []string{"etc/ppd", "etc/ssl", "spool/tmp", "cache/rss", "run/certs", "log", "out"} {
		if err := os.MkdirAll(filepath.Join(dir, d), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	free, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	port := free.Addr().(*net.TCPAddr).Port
	_ = free.Close()
	files := fmt.Sprintf(serverFiles, dir)
	if os.Getuid() == 0 { // its filters run as another user
		files += "User lp\nGroup lp\n"
		_ = os.Chmod(dir, 0o755)
		must(t, "chown", "-R", "lp:lp", filepath.Join(dir, "spool"), filepath.Join(dir, "cache"), filepath.Join(dir, "run"), filepath.Join(dir, "out"))
	}
	for name, text := range map[string]string{"cups-files.conf": files, "cupsd.conf": fmt.Sprintf(serverConf, dir, port)} {
		if err := os.WriteFile(filepath.Join(dir, "etc", name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	server := exec.Command("/usr/sbin/cupsd", "-f", "-c", filepath.Join(dir, "etc/cupsd.conf"), "-s", filepath.Join(dir, "etc/cups-files.conf"))
	if err := server.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = server.Process.Signal(syscall.SIGTERM)
		_ = server.Wait()
	})
	t.Setenv("CUPS_SERVER", fmt.Sprintf("127.0.0.1:%d", port))
	for end := time.Now().Add(time.Minute); ; time.Sleep(100 * time.Millisecond) {
		if c, err := net.Dial("tcp", fmt.Sprintf("127.0.0.1:%d", port)); err == nil {
			_ = c.Close()
			break
		} else if time.Now().After(end) {
			t.Fatalf("the print server does not answer: %v", err)
		}
	}
	s := Server{"sheets", filepath.Join(dir, "out", "sheets.pdf")}
	must(t, "/usr/sbin/lpadmin", "-p", s.Name, "-E", "-v", "file://"+s.Printed, "-m", "lsb/usr/cupsfilters/Generic-PDF_Printer-PDF.ppd", "-o", "PageSize=A4")
	return s
}

// Pause and Go stop the printer and let it go on.
func (s Server) Pause(t *testing.T) { t.Helper(); must(t, "/usr/sbin/cupsdisable", s.Name) }
func (s Server) Go(t *testing.T)    { t.Helper(); must(t, "/usr/sbin/cupsenable", s.Name) }

func must(t *testing.T, name string, args ...string) {
	t.Helper()
	if out, err := exec.Command(name, args...).CombinedOutput(); err != nil {
		t.Fatalf("%s: %v %s", name, err, out)
	}
}
