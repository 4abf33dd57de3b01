//go:build unix

package main

import (
	"os"
	"os/signal"
	"syscall"
)

// notifyReload passes on the signal by which a person asks for the workroom file to be read again.
func notifyReload(c chan os.Signal) { signal.Notify(c, syscall.SIGHUP) }
