//go:build unix

package store

import "syscall"

// errQuota is a user's share of the disk used up: to a job the same as a full disk.
const errQuota = syscall.EDQUOT
