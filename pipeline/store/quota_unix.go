//go:build unix

package store

import "syscall"

// errQuota is the error of a user's used-up share of the disk, which counts as a full disk.
const errQuota = syscall.EDQUOT
