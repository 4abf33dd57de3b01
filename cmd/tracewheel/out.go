package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"

	"tracewheel/pipeline/store"
)

// writeOut writes a file that a person asked for, whole or not at all. What is there and is no plain
// file - a pipe, a port, /dev/stdout - is written to and never replaced.
func writeOut(path string, data []byte) error {
	if st, err := os.Stat(path); err == nil && !st.Mode().IsRegular() {
		if st.IsDir() {
			return refused(errors.New(path + " is a folder; name a file in it"))
		}
		if err := os.WriteFile(path, data, 0); err != nil {
			return refused(err)
		}
		return nil
	}
	if _, err := store.SaveFile(store.Disk{}, path, bytes.NewReader(data), 0o644); err != nil {
		return refused(store.WithAdvice(err))
	}
	return nil
}

// wrote writes such a file and says what is in it.
func (a *app) wrote(path string, data []byte, what string) error {
	err := writeOut(path, data)
	if err == nil {
		fmt.Fprintf(a.err, "%s: %s, %d bytes\n", path, what, len(data))
	}
	return err
}
