package port

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"sync"
	"sync/atomic"
	"syscall"
	"time"

	"github.com/tarm/serial"
	"golang.org/x/sys/unix"

	"tracewheel/devices"
	"tracewheel/devices/flow"
)

// tty is a Linux line. The port library sets it; all bytes then go through a non-blocking descriptor of the same line,
// because only that has deadlines and can always be closed.
type tty struct {
	name   string
	file   *os.File
	pty    bool // the bytes in a pseudo-terminal cannot be counted
	flow   devices.Flow
	mu     sync.Mutex // guards the line's settings
	closed atomic.Bool
}

func open(p devices.PortProfile) (devices.Line, error) {
	fd, err := unix.Open(p.Path, unix.O_RDWR|unix.O_NOCTTY|unix.O_NONBLOCK|unix.O_CLOEXEC, 0)
	if err != nil {
		return nil, openError(p.Path, err)
	}
	t := &tty{name: p.Path, file: os.NewFile(uintptr(fd), p.Path), flow: p.Flow}
	if err := t.set(p); err != nil {
		t.file.Close()
		return nil, err
	}
	return t, nil
}

// set locks the line and applies the profile's settings.
func (t *tty) set(p devices.PortProfile) error {
	if err := t.claim(p.Path); err != nil {
		return err
	}
	// The library's own descriptor blocks without limit, so it only sets the line and is closed again at once; the
	// other one stays open, so that the modem lines do not drop in between.
	lib, err := serial.OpenPort(&serial.Config{Name: p.Path, Baud: p.Baud, Size: byte(p.DataBits),
		Parity: parity(p.Parity), StopBits: serial.StopBits(p.StopBits)})
	if err != nil {
		return openError(p.Path, err)
	}
	if err := lib.Close(); err != nil {
		return fmt.Errorf("port %q: %w", p.Path, err)
	}
	if err := t.hold(p.Flow, true); err != nil {
		return err
	}
	if !t.pty { // a pseudo-terminal would keep the lock after the program ends
		_ = t.control(func(fd int) error { return unix.IoctlSetInt(fd, unix.TIOCEXCL, 0) })
	}
	return t.checkSettings(p)
}

// claim takes the lock that keeps two devices, or two daemons, from using one port.
func (t *tty) claim(path string) error {
	return t.control(func(fd int) error {
		var st unix.Stat_t
		if err := unix.Fstat(fd, &st); err != nil {
			return openError(path, err)
		}
		major := unix.Major(uint64(st.Rdev))
		t.pty = st.Mode&unix.S_IFMT == unix.S_IFCHR && major >= 136 && major <= 143
		if err := unix.Flock(fd, unix.LOCK_EX|unix.LOCK_NB); err != nil {
			if errors.Is(err, unix.EWOULDBLOCK) {
				return fmt.Errorf("port %q: %w: another device or another program holds it", path, ErrInUse)
			}
			return openError(path, err)
		}
		if _, err := unix.IoctlGetTermios(fd, unix.TCGETS); err != nil {
			return fmt.Errorf("port %q is no serial line: %w", path, err)
		}
		return nil
	})
}

// hold sets or removes the system's flow control for a habit, and reads it back. Settings are changed at once
// (TCSETS), because the call that drains first hangs after a write that is held.
func (t *tty) hold(f devices.Flow, on bool) error {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.control(func(fd int) error {
		tio, err := unix.IoctlGetTermios(fd, unix.TCGETS)
		if err != nil {
			return t.fault(err)
		}
		tio.Iflag &^= unix.IXON | unix.IXOFF | unix.IXANY
		tio.Cflag &^= unix.CRTSCTS
		// A read returns from one byte on.
		tio.Cc[unix.VMIN], tio.Cc[unix.VTIME] = 1, 0
		if on && f == devices.FlowXonXoff {
			tio.Iflag |= unix.IXON
			tio.Cc[unix.VSTART], tio.Cc[unix.VSTOP] = flow.DC1, flow.DC3
		}
		if on && f == devices.FlowRTSCTS {
			tio.Cflag |= unix.CRTSCTS
		}
		if err := unix.IoctlSetTermios(fd, unix.TCSETS, tio); err != nil {
			return t.fault(err)
		}
		got, err := unix.IoctlGetTermios(fd, unix.TCGETS)
		if err != nil {
			return t.fault(err)
		}
		same := got.Iflag&unix.IXON == tio.Iflag&unix.IXON && got.Cflag&unix.CRTSCTS == tio.Cflag&unix.CRTSCTS &&
			got.Cc[unix.VSTART] == tio.Cc[unix.VSTART] && got.Cc[unix.VSTOP] == tio.Cc[unix.VSTOP]
		if !same {
			return fmt.Errorf("port %q: its driver does not do %s; choose another flow habit that the device knows", t.name, f)
		}
		return nil
	})
}

// checkSettings reads the settings back. A pseudo-terminal always says 8 bits, no parity.
func (t *tty) checkSettings(p devices.PortProfile) error {
	if t.pty {
		return nil
	}
	return t.control(func(fd int) error {
		got, err := unix.IoctlGetTermios(fd, unix.TCGETS)
		if err != nil {
			return t.fault(err)
		}
		size := map[int]uint32{5: unix.CS5, 6: unix.CS6, 7: unix.CS7, 8: unix.CS8}[p.DataBits]
		if got.Cflag&unix.CSIZE != size {
			return fmt.Errorf("port %q: its driver does not do data_bits %d", p.Path, p.DataBits)
		}
		if on := got.Cflag&unix.PARENB != 0; on != (p.Parity != "none") {
			return fmt.Errorf("port %q: its driver does not do parity %q", p.Path, p.Parity)
		}
		if two := got.Cflag&unix.CSTOPB != 0; two != (p.StopBits == 2) {
			return fmt.Errorf("port %q: its driver does not do stop_bits %d", p.Path, p.StopBits)
		}
		return nil
	})
}

// control runs f on the descriptor without taking it out of non-blocking mode.
func (t *tty) control(f func(fd int) error) error {
	raw, err := t.file.SyscallConn()
	if err != nil {
		return t.fault(err)
	}
	var inner error
	if err := raw.Control(func(fd uintptr) { inner = f(int(fd)) }); err != nil {
		return t.fault(err)
	}
	return inner
}

func (t *tty) Name() string { return t.name }

func (t *tty) Read(p []byte, wait time.Duration) (int, error) {
	if err := t.file.SetReadDeadline(time.Now().Add(max(wait, time.Millisecond))); err != nil {
		return 0, t.fault(err)
	}
	n, err := t.file.Read(p)
	if n > 0 {
		return n, nil
	}
	return 0, t.fault(err)
}

func (t *tty) Write(p []byte, wait time.Duration) (int, error) {
	if len(p) == 0 {
		return 0, nil
	}
	if err := t.file.SetWriteDeadline(time.Now().Add(max(wait, time.Millisecond))); err != nil {
		return 0, t.fault(err)
	}
	n, err := t.file.Write(p)
	if n > 0 {
		return n, nil
	}
	return 0, t.fault(err)
}

// Queued asks the driver, which does not count the few bytes in the transmitter.
func (t *tty) Queued() (int, bool) {
	if t.pty {
		return 0, false
	}
	n := 0
	err := t.control(func(fd int) (err error) {
		n, err = unix.IoctlGetInt(fd, unix.TIOCOUTQ)
		return err
	})
	return n, err == nil
}

func (t *tty) Discard() error {
	return t.control(func(fd int) error {
		if err := unix.IoctlSetInt(fd, unix.TCFLSH, unix.TCOFLUSH); err != nil {
			return t.fault(err)
		}
		return nil
	})
}

// Override implements devices.Overrider.
func (t *tty) Override(on bool) error { return t.hold(t.flow, !on) }

// Ready implements devices.Readier.
func (t *tty) Ready() (ready, known bool) {
	if t.flow != devices.FlowRTSCTS || t.pty {
		return true, false
	}
	err := t.control(func(fd int) error {
		bits, err := unix.IoctlGetInt(fd, unix.TIOCMGET)
		ready = bits&unix.TIOCM_CTS != 0
		return err
	})
	return ready, err == nil
}

// Close drops unsent bytes, because a port with unsent bytes may take half a minute to close.
func (t *tty) Close() error {
	if t.closed.Swap(true) {
		return nil
	}
	if !t.pty { // a pseudo-terminal has sent everything
		_ = t.Discard()
		_ = t.control(func(fd int) error { return unix.IoctlSetInt(fd, unix.TIOCNXCL, 0) })
	}
	return t.file.Close()
}

// fault translates the system's errors to those of devices.Line.
func (t *tty) fault(err error) error {
	switch {
	case err == nil:
		return nil
	case errors.Is(err, os.ErrDeadlineExceeded), errors.Is(err, syscall.EAGAIN):
		return devices.ErrWait
	case errors.Is(err, fs.ErrClosed) || t.closed.Load():
		return devices.ErrClosed
	case errors.Is(err, io.EOF), errors.Is(err, syscall.EIO), errors.Is(err, syscall.ENXIO), errors.Is(err, syscall.ENODEV):
		return fmt.Errorf("port %q: %w", t.name, devices.ErrGone)
	}
	return fmt.Errorf("port %q: %w", t.name, err)
}
