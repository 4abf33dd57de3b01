package store

import "path/filepath"

// ForgettingMark lies in a store from before the first thing of a person is removed until the last is: while it is
// there, the forgetting has to be gone on with.
func ForgettingMark(dir string) string { return filepath.Join(dir, "forgetting.json") }
