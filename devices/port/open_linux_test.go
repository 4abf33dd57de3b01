package port

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/creack/pty"
	"golang.org/x/sys/unix"
	"golang.org/x/term"

	"tracewheel/devices"
)

// openPty gives both ends of a pseudo-terminal, one opened as a port.
func openPty(t *testing.T, p devices.PortProfile) (master *os.File, line devices.Line) {
	t.Helper()
	master, slave, err := pty.Open()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { master.Close(); slave.Close() })
	if _, err := term.MakeRaw(int(slave.Fd())); err != nil {
		t.Fatal(err)
	}
	p.Path = slave.Name()
	line, err = Open(p)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { line.Close() })
	return master, line
}

// TestKernelXonXoff: the system stops at DC3 and continues at DC1, and passes neither on; the library's own settings
// do neither.
func TestKernelXonXoff(t *testing.T) {
	master, line := openPty(t, devices.PortProfile{Flow: devices.FlowXonXoff})
	if n, err := line.Write([]byte("one"), time.Second); n != 3 || err != nil {
		t.Fatal(n, err)
	}
	mustWrite(t, master, "\x13")
	time.Sleep(20 * time.Millisecond)
	if n, err := line.Write([]byte("two"), 50*time.Millisecond); n != 0 || !errors.Is(err, devices.ErrWait) {
		t.Fatalf("wrote %d, %v after DC3", n, err)
	}
	if err := line.(devices.Overrider).Override(true); err != nil {
		t.Fatal(err)
	}
	if n, err := line.Write([]byte("abort"), time.Second); n != 5 || err != nil {
		t.Fatalf("override: wrote %d, %v", n, err)
	}
	if err := line.(devices.Overrider).Override(false); err != nil {
		t.Fatal(err)
	}
	mustWrite(t, master, "\x13\x11x")
	buf := make([]byte, 8)
	if n, err := line.Read(buf, time.Second); n != 1 || err != nil || buf[0] != 'x' {
		t.Errorf("read %q, %v", buf[:n], err)
	}
	if n, err := line.Write([]byte("three"), time.Second); n != 5 || err != nil {
		t.Fatalf("wrote %d, %v after DC1", n, err)
	}
}

func mustWrite(t *testing.T, f *os.File, s string) {
	t.Helper()
	if _, err := f.WriteString(s); err != nil {
		t.Fatal(err)
	}
}

// TestCloseFreesBoth: a write that is held ends at its deadline and at a close, and so does a read.
func TestCloseFreesBoth(t *testing.T) {
	master, line := openPty(t, devices.PortProfile{Flow: devices.FlowXonXoff})
	mustWrite(t, master, "\x13")
	time.Sleep(20 * time.Millisecond)
	var wg sync.WaitGroup
	errs := make([]error, 2)
	wg.Go(func() { _, errs[0] = line.Write([]byte("held"), time.Hour) })
	wg.Go(func() { _, errs[1] = line.Read(make([]byte, 8), time.Hour) })
	time.Sleep(50 * time.Millisecond)
	line.Close()
	wg.Wait()
	for _, err := range errs {
		if !errors.Is(err, devices.ErrClosed) {
			t.Errorf("%v", err)
		}
	}
	if _, err := line.Write([]byte("x"), time.Second); !errors.Is(err, devices.ErrClosed) {
		t.Errorf("after the close: %v", err)
	}
	if err := line.Close(); err != nil {
		t.Errorf("a second close: %v", err)
	}
}

func TestGone(t *testing.T) {
	master, slave, err := pty.Open()
	if err != nil {
		t.Fatal(err)
	}
	line, err := Open(devices.PortProfile{Path: slave.Name()})
	if err != nil {
		t.Fatal(err)
	}
	defer line.Close()
	slave.Close()
	master.Close()
	if _, err := line.Read(make([]byte, 8), time.Second); !errors.Is(err, devices.ErrGone) {
		t.Errorf("read: %v", err)
	}
	if _, err := line.Write([]byte("x"), time.Second); !errors.Is(err, devices.ErrGone) {
		t.Errorf("write: %v", err)
	}
}

// TestExclusive: two devices never share a port, under any of its names.
func TestExclusive(t *testing.T) {
	_, line := openPty(t, devices.PortProfile{})
	other := filepath.Join(t.TempDir(), "other name")
	if err := os.Symlink(line.Name(), other); err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{line.Name(), other} {
		if _, err := Open(devices.PortProfile{Path: path}); !errors.Is(err, ErrInUse) || !strings.Contains(err.Error(), path) {
			t.Errorf("%s: %v", path, err)
		}
	}
	line.Close()
	again, err := Open(devices.PortProfile{Path: other})
	if err != nil {
		t.Fatalf("after the close: %v", err)
	}
	again.Close()
}

func TestRefusals(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		p    devices.PortProfile
		want []string
	}{
		{devices.PortProfile{Path: "/dev/ttyS9", Baud: 14400, DataBits: 9, Parity: "mark", StopBits: 3, Flow: "hope"},
			[]string{`"/dev/ttyS9"`, "baud 14400", "9600", "data_bits 9", `parity "mark"`, "stop_bits 3", `flow "hope"`}},
		{devices.PortProfile{}, []string{"neither a path nor an identity"}},
		{devices.PortProfile{Path: "/dev/nothing-here"}, []string{`"/dev/nothing-here"`, "not there", "cable"}},
		{devices.PortProfile{Path: file}, []string{"no serial line"}},
		{devices.PortProfile{Identity: "usb:dead:beef:1"}, []string{`"usb:dead:beef:1"`, "plugged in"}},
	} {
		_, err := Open(c.p)
		if err == nil {
			t.Fatalf("%+v was opened", c.p)
		}
		for _, w := range c.want {
			if !strings.Contains(err.Error(), w) {
				t.Errorf("%q does not say %q", err, w)
			}
		}
	}
}

// A pseudo-terminal cannot be set to 7 bits, so only the request is checked.
func TestSettingsReachTheLine(t *testing.T) {
	_, line := openPty(t, devices.PortProfile{Baud: 19200, DataBits: 7, Parity: "even", StopBits: 2, Flow: devices.FlowRTSCTS})
	err := line.(*tty).control(func(fd int) error {
		got, err := unix.IoctlGetTermios(fd, unix.TCGETS)
		if err == nil && (got.Cflag&unix.CRTSCTS == 0 || got.Cflag&unix.CSTOPB == 0 || got.Iflag&unix.IXON != 0 || got.Cflag&unix.CBAUD != unix.B19200 ||
			got.Lflag&(unix.ICANON|unix.ECHO) != 0 || got.Oflag&unix.OPOST != 0) {
			t.Errorf("the line is set to %+v", got)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if parity("even") != 'E' || parity("odd") != 'O' || parity("none") != 'N' {
		t.Error("parity")
	}
}

// The layout of sysfs is that of the kernel's documentation, Documentation/ABI/testing/sysfs-bus-usb.
func TestFind(t *testing.T) {
	dev, sys := t.TempDir(), t.TempDir()
	adapter(t, sys, "1-1", "0403", "6001", "A1B2", "ttyUSB0")
	adapter(t, sys, "1-2", "0403", "6001", "C3D4", "ttyUSB1")
	byID := filepath.Join(dev, "serial", "by-id")
	if err := os.MkdirAll(byID, 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("../../ttyUSB1", filepath.Join(byID, "usb-Maker_Adapter_C3D4-if00-port0")); err != nil {
		t.Fatal(err)
	}
	ports, err := listIn(dev, sys)
	if err != nil || len(ports) != 2 {
		t.Fatalf("%+v, %v", ports, err)
	}
	for identity, want := range map[string]string{
		"usb:0403:6001:A1B2": "ttyUSB0", "usb:0403:6001:c3d4": "ttyUSB1", "usb-Maker_Adapter_C3D4-if00-port0": "ttyUSB1",
	} {
		if got, err := pick(ports, identity); err != nil || got != filepath.Join(dev, want) {
			t.Errorf("%s: %q, %v", identity, got, err)
		}
	}
	if _, err := pick(ports, "usb:0403:6001:gone"); !errors.Is(err, devices.ErrGone) || !strings.Contains(err.Error(), "A1B2") {
		t.Errorf("%v", err)
	}
	adapter(t, sys, "1-3", "1111", "2222", "", "ttyUSB2") // adapters without a serial number cannot be told apart
	adapter(t, sys, "1-4", "1111", "2222", "", "ttyUSB3")
	ports, _ = listIn(dev, sys)
	if _, err := pick(ports, "usb:1111:2222:"); err == nil || !strings.Contains(err.Error(), "ttyUSB3") {
		t.Errorf("%v", err)
	}
}

// TestFoundAgain: an adapter that is plugged in again under another path is found by both kinds of identity.
func TestFoundAgain(t *testing.T) {
	dev, sys := t.TempDir(), t.TempDir()
	link := filepath.Join(dev, "serial", "by-id", "usb-Maker_Adapter_A1B2-if00-port0")
	if err := os.MkdirAll(filepath.Dir(link), 0o700); err != nil {
		t.Fatal(err)
	}
	for i, name := range []string{"ttyUSB0", "ttyUSB4", "ttyACM1"} {
		_ = os.RemoveAll(filepath.Join(sys, "class"))
		_ = os.RemoveAll(filepath.Join(sys, "devices"))
		_ = os.Remove(link)
		for _, identity := range []string{"usb:0403:6001:A1B2", filepath.Base(link)} {
			ports, err := listIn(dev, sys)
			if _, err2 := pick(ports, identity); err != nil || !errors.Is(err2, devices.ErrGone) {
				t.Errorf("unplugged it is found: %v, %v", err, err2)
			}
		}
		adapter(t, sys, fmt.Sprintf("1-%d", i+1), "0403", "6001", "A1B2", name)
		if err := os.Symlink("../../"+name, link); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dev, name), nil, 0o600); err != nil {
			t.Fatal(err)
		}
		for _, identity := range []string{"usb:0403:6001:A1B2", filepath.Base(link)} {
			ports, err := listIn(dev, sys)
			if err != nil {
				t.Fatal(err)
			}
			got, err := pick(ports, identity)
			if err != nil || realPath(got) != realPath(filepath.Join(dev, name)) || realPath(link) != realPath(got) {
				t.Errorf("%s is found at %q, %v; not at %s", identity, got, err, name)
			}
		}
	}
}

func adapter(t *testing.T, sys, bus, vendor, product, serial, name string) {
	t.Helper()
	usb := filepath.Join(sys, "devices", "usb1", bus)
	port := filepath.Join(usb, bus+":1.0", name)
	class := filepath.Join(sys, "class", "tty", name)
	for _, d := range []string{port, class} {
		if err := os.MkdirAll(d, 0o700); err != nil {
			t.Fatal(err)
		}
	}
	for file, text := range map[string]string{"idVendor": vendor, "idProduct": product, "serial": serial, "manufacturer": "Maker", "product": "Adapter"} {
		if err := os.WriteFile(filepath.Join(usb, file), []byte(text+"\n"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Symlink(port, filepath.Join(class, "device")); err != nil {
		t.Fatal(err)
	}
}
