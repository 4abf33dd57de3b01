// Package samples holds the drafts that a new workroom begins with and that the demo drops into its
// folders. They belong to the wardrobe room of an amateur theatre, which is made up like everything
// in them.
package samples

import (
	"embed"
	"io/fs"
	"strings"
)

//go:embed drafts cards
var files embed.FS

// Drafts is the folder of sample drafts.
func Drafts() fs.FS { return folder("drafts") }

// Cards is the folder of sample measure cards.
func Cards() fs.FS { return folder("cards") }

func folder(name string) fs.FS {
	sub, err := fs.Sub(files, name)
	if err != nil {
		panic(err) // the folder is part of this program
	}
	return sub
}

// Starters are the names of the measured drafts, without their ending.
func Starters() []string {
	names, err := fs.Glob(Drafts(), "*.yaml")
	if err != nil {
		panic(err) // the pattern is part of this program
	}
	for i, name := range names {
		names[i] = strings.TrimSuffix(name, ".yaml")
	}
	return names
}

// Read gives one sample.
func Read(name string) []byte {
	data, err := fs.ReadFile(Drafts(), name)
	if err != nil {
		panic(err) // likewise
	}
	return data
}
