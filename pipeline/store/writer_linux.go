package store

import (
	"errors"
	"io/fs"
	"os"

	"golang.org/x/sys/unix"
)

// NoWriter asks the kernel for a read lease (fcntl(2), F_SETLEASE), which it gives only while no program has the file open
// for writing, and gives the lease back at once.
func (Disk) NoWriter(name string) error {
	// Without O_NONBLOCK this would wait for a lease that another program holds, such as a file server.
	f, err := os.OpenFile(name, os.O_RDONLY|unix.O_NONBLOCK|unix.O_NOFOLLOW, 0)
	switch {
	case errors.Is(err, unix.EWOULDBLOCK):
		return ErrWriting
	case err != nil:
		return err
	}
	defer f.Close() //nolint:errcheck // only read
	remote, blind := system(f)
	_, err = unix.FcntlInt(f.Fd(), unix.F_SETLEASE, unix.F_RDLCK)
	switch {
	case errors.Is(err, unix.EAGAIN) && !remote:
		return ErrWriting
	case err != nil:
		// EACCES: another user's file and no CAP_LEASE. EINVAL: a file system without leases.
		return &fs.PathError{Op: "lease", Path: name, Err: errors.Join(ErrCannotTell, err)}
	}
	if _, err := unix.FcntlInt(f.Fd(), unix.F_SETLEASE, unix.F_UNLCK); err != nil {
		return &fs.PathError{Op: "lease", Path: name, Err: errors.Join(ErrCannotTell, err)}
	}
	if blind {
		return &fs.PathError{Op: "lease", Path: name, Err: ErrCannotTell}
	}
	return nil
}

// system tells apart the file systems on which leases do not reach the other computers (from memory of the kernel's
// sources). On remote ones a refusal may also mean that the server gives no leases; on blind ones a lease is given
// although another computer may write.
func system(f *os.File) (remote, blind bool) {
	const smb, cifs, smb2, ceph = 0x517B, 0xFF534D42, 0xFE534D42, 0x00C36400
	var s unix.Statfs_t
	if err := unix.Fstatfs(int(f.Fd()), &s); err != nil {
		return true, true
	}
	switch uint32(s.Type) {
	case unix.NFS_SUPER_MAGIC, smb, cifs, smb2:
		return true, false
	case unix.FUSE_SUPER_MAGIC, unix.V9FS_MAGIC, ceph:
		return true, true
	}
	return false, false
}
