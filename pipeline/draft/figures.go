package draft

import (
	"fmt"
	"io"

	"tracewheel/pipeline/draft/measured"
)

// Figures writes what a measured draft comes to - derived numbers, lengths, girths, seams, places to
// chalk from - as "text", "json" or "html". Faults lists what the error says; a draft of another form
// is an *Error, since it holds no figures.
func Figures(w io.Writer, data []byte, name, form string, opt Options) error {
	if kindOf(data, name) != kindMeasured {
		return &Error{Fault{Message: fmt.Sprintf("%q holds drawn lines and no figures", name), Mend: "figures are told of a measured draft (.yaml)"}}
	}
	f, err := measured.FiguresOf(data, name, measured.Options{Body: opt.Body, Card: opt.Card, Block: opt.Block})
	if err != nil {
		return err
	}
	switch form {
	case "json":
		return f.JSON(w)
	case "html":
		return f.HTML(w)
	default:
		return f.Text(w)
	}
}

// Whole writes a measured draft with all that it takes from blocks as one file. Errors are as of Figures.
func Whole(data []byte, name string, opt Options) ([]byte, error) {
	if kindOf(data, name) != kindMeasured {
		return nil, &Error{Fault{Message: fmt.Sprintf("%q holds drawn lines and takes nothing from other drafts", name), Mend: "save it as .svg or .dxf"}}
	}
	return measured.Whole(data, name, measured.Options{Block: opt.Block})
}

// MeasuredHelp is what lies beside measured drafts to help in writing them: the page on their form, and
// a JSON Schema for editors, by file name.
func MeasuredHelp() map[string][]byte {
	return map[string][]byte{"REFERENCE.md": measured.Reference, "measured-draft.schema.json": measured.Schema}
}
