package measured

import (
	_ "embed"
)

// Reference is the page on how drafts are written.
//
//go:embed REFERENCE.md
var Reference []byte

// Tutorial is the page that leads a beginner through three garments, step by step.
//
//go:embed TUTORIAL.md
var Tutorial []byte

// Examples is the page that has examples of the words.
//
//go:embed EXAMPLES.md
var Examples []byte

// Schema is the JSON Schema of a draft, for editors.
//
//go:embed schema.json
var Schema []byte
