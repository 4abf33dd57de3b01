//go:build !unix

package store

import "syscall"

// errQuota is ERROR_DISK_FULL, this system's own number for a full disk.
const errQuota = syscall.Errno(112)
