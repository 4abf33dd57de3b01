package making

import (
	"tracewheel/pipeline/draft"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/prepare"
)

// Export writes a draft without errors and questions as ".svg" or ".dxf", with the cut lines that its allowances make. The
// error is ErrRefused, with the draft's findings, where the draft cannot be used as it is. Drafts that its ticket names
// beside it are left out.
func (m *Maker) Export(r Request, form string) ([]byte, *Looked, error) {
	r.Alone = true
	w := &Looked{Request: r}
	var j Judged
	if w.Read, j = m.read(r); !j.Refused {
		j = m.judge(w.Read, nil, r.Answers)
	}
	if w.add(j); !w.Passes() {
		return nil, w, ErrRefused
	}
	p, err := prepare.WithCutLines(w.Pattern, w.Ticket, m.preparing(nil, 0))
	if err != nil {
		w.add(refused(pattern.NewFinding(pattern.RuleNotPrepared, err.Error(), "mend the draft or its ticket")))
		return nil, w, ErrRefused
	}
	w.Pattern = p
	data, err := draft.Write(p, form)
	return data, w, err
}
