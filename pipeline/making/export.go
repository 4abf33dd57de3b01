package making

import (
	"tracewheel/pipeline/draft"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/prepare"
)

// Export writes a draft that has no error and asks nothing as an open form, ".svg" or ".dxf", with the
// cut lines that its allowances make. It is ErrRefused, with the Work's findings, where the draft cannot
// be used as it is.
func (h *Maker) Export(r Request, form string) ([]byte, *Work, error) {
	w := &Work{Request: r}
	for _, stage := range []func(*Work) error{h.read, h.check} {
		if err := stage(w); err != nil {
			return nil, w, err
		}
		if !w.Passes() {
			return nil, w, ErrRefused
		}
	}
	p, err := prepare.WithCutLines(w.Pattern, w.Ticket, prepare.Options{MitreLimit: h.Room.Sewing.MitreLimit})
	if err != nil {
		w.refuse(pattern.NewFinding(pattern.RuleNotPrepared, err.Error(), "mend the draft or its ticket"))
		return nil, w, ErrRefused
	}
	w.Pattern = p
	data, err := draft.Write(p, form)
	return data, w, err
}
