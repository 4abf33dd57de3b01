package prepare

import (
	"github.com/paulmach/orb"

	"tracewheel/pipeline/pattern"
)

// place names a place in the draft.
func (m *maker) place(at orb.Point) string { return m.p.Places(m.opt.Unit).SayOn(&m.piece, at) }

func (m *maker) length(mm float64) string { return pattern.Length(mm, m.p.ReadIn(m.opt.Unit)) }

func (m *maker) number(mm float64) string { return pattern.SayLength(mm, m.p.ReadIn(m.opt.Unit)) }
