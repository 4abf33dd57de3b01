package draft

import (
	"fmt"

	"tracewheel/pipeline/draft/export"
	"tracewheel/pipeline/pattern"
)

// Write makes a file of a pattern that Read takes: form is ".svg" or ".dxf".
func Write(p *pattern.Pattern, form string) ([]byte, error) {
	switch form {
	case ".svg":
		return export.SVG(p), nil
	case ".dxf":
		return export.DXF(p), nil
	}
	return nil, fmt.Errorf("a pattern is written as .svg or .dxf, not %q", form)
}
