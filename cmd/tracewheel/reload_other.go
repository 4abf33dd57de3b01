//go:build !unix

package main

import "os"

// notifyReload does nothing where there is no such signal: there the daemon is started anew.
func notifyReload(chan os.Signal) {}
