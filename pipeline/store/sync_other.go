//go:build !unix

package store

// syncDir does nothing: this system offers no way to sync a folder, and keeps the order of names in
// its own journal.
func syncDir(string) error { return nil }
