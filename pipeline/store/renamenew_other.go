//go:build !linux

package store

func renameNew(from, to string) error { return linkNew(from, to) }
