package draft

import (
	"cmp"
	"errors"
	"fmt"
	"io"

	"tracewheel/pipeline/draft/measured"
	"tracewheel/pipeline/draft/measured/figures"
)

// WriteFigures writes what a measured draft comes to - derived numbers, lengths, girths, seams, places to
// chalk from - as "text", "json" or "html".
func WriteFigures(w io.Writer, f *figures.Figures, form string) error {
	switch form {
	case "json":
		return f.JSON(w)
	case "html":
		return f.HTML(w)
	default:
		return f.Text(w)
	}
}

// FiguresOf lists a measured draft's figures within the time that reading may take. Faults lists what the
// error says; a draft of another form is an *Error, since it holds no figures.
func FiguresOf(data []byte, name string, opt Options) (*figures.Figures, error) {
	return figured(data, name, opt, measured.FiguresOf)
}

// BriefOf is FiguresOf without what each piece is chalked from.
func BriefOf(data []byte, name string, opt Options) (*figures.Figures, error) {
	return figured(data, name, opt, measured.BriefOf)
}

func figured(data []byte, name string, opt Options, of func([]byte, string, measured.Options) (*figures.Figures, error)) (*figures.Figures, error) {
	if kindOf(data, name) != kindMeasured {
		return nil, &Error{Fault{Message: fmt.Sprintf("%q holds drawn lines and no figures", name), Mend: "figures are told of a measured draft (.yaml)"}}
	}
	return within(cmp.Or(opt.Limit, timeLimit), opt.Done, name, func(stop <-chan struct{}) (*figures.Figures, error) {
		return of(data, name, opt.measured(stop))
	})
}

// InLines gives each fault of an error of this room a line with its place and what mends it.
func InLines(err error) error {
	var faults []error
	for _, ft := range Faults(err) {
		text := ft.Message
		if ft.Line > 0 {
			text = fmt.Sprintf("line %d, column %d: %s", ft.Line, ft.Column, text)
		}
		if ft.Mend != "" {
			text += "; " + ft.Mend
		}
		faults = append(faults, errors.New(text))
	}
	return errors.Join(faults...)
}

// Whole writes a measured draft with all that it takes from blocks as one file. Errors are as of FiguresOf.
func Whole(data []byte, name string, opt Options) ([]byte, error) {
	if kindOf(data, name) != kindMeasured {
		return nil, &Error{Fault{Message: fmt.Sprintf("%q holds drawn lines and takes nothing from other drafts", name), Mend: "save it as .svg or .dxf"}}
	}
	return measured.Whole(data, name, opt.measured(nil))
}

// MeasuredHelp is what lies beside measured drafts to help in writing them: the page on their form, and
// a JSON Schema for editors, by file name.
func MeasuredHelp() map[string][]byte {
	return map[string][]byte{"REFERENCE.md": measured.Reference, "measured-draft.schema.json": measured.Schema}
}
