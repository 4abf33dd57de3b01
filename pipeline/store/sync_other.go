//go:build !unix

package store

// NoFollow and NoWait are flags of OpenFile, which this system does not have.
const NoFollow, NoWait = 0, 0

// syncDir does nothing: this system offers no way to sync a folder, and keeps the order of names in
// its own journal.
func syncDir(string) error { return nil }
