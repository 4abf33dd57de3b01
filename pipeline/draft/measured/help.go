package measured

import (
	_ "embed"
)

// Reference is the page on how drafts are written.
//
//go:embed REFERENCE.md
var Reference []byte

// Schema is the JSON Schema of a draft, for editors.
//
//go:embed schema.json
var Schema []byte
