package store

import "path/filepath"

// ForgettingMark is a file in a store from before the first thing of a person is removed until after the last: while it is
// there, the forgetting must be continued.
func ForgettingMark(dir string) string { return filepath.Join(dir, "forgetting.json") }
