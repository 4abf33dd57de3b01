// Package check looks at a draft the way a careful cutter would: do the outlines close, is the seam
// allowance what it should be all along, do the notches sit right, does it fit the device. It finds
// and says; it repairs nothing. Each rule has its own file: a function from a piece, or from the whole
// draft, to findings; the list in rules.go names them all.
package check

import (
	"fmt"
	"slices"
	"sort"

	"tracewheel/pipeline/pattern"
)

// Limits is what the device, the workroom and the ticket ask of a draft. Lengths are mm. The zero
// Limits asks for nothing: no device, no wanted allowance, common notch limits.
type Limits struct {
	// Width is what the device reaches across the material, Length along it; 0 is without end.
	Width, Length float64
	// Margin is kept free at every side of both.
	Margin float64
	// Cloth means that grain lines must follow the length of the material, so that a piece may
	// only be turned end for end; paper is free to be turned by a quarter.
	Cloth bool
	// Once means that a piece on the fold is drawn as its half.
	Once bool
	// Cuts is a device with a knife, BladeOffset its blade's.
	Cuts        bool
	BladeOffset float64
	// Unit is the workroom's, in which lengths are told of a draft that has none of its own.
	Unit string
	// AllowanceMin and AllowanceMax bound the allowances that the workroom wants; 0 is no bound.
	AllowanceMin, AllowanceMax float64
	// Allowance is the ticket's answer where the draft states none; AllowanceIncluded says that a
	// lone outline is the cut line; WorkroomAllowance is used last, and never for a knife.
	Allowance         *float64
	AllowanceIncluded bool
	WorkroomAllowance *float64
	// NotchDepth is the workroom's depth for a notch that has none; 0 means 4 mm.
	NotchDepth float64
	// NotchShare of the allowance is how deep a notch may be before it is warned of; 0 means half.
	// NotchLeft must be left between its end and the sew line; 0 means 2 mm.
	NotchShare, NotchLeft float64
	// SeamTolerance is by how much two edges sewn together may differ where the draft says nothing;
	// 0 means pattern.SeamTolerance.
	SeamTolerance float64
}

// defaultNotchDepth is the workroom's notch in mm where nobody says another: industry nicks are
// 2 to 3 mm, workroom ones 3 to 6 (common practice).
const defaultNotchDepth = 4

func (l Limits) notchDepth() float64    { return or(l.NotchDepth, defaultNotchDepth) }
func (l Limits) notchShare() float64    { return or(l.NotchShare, 0.5) }
func (l Limits) notchLeft() float64     { return or(l.NotchLeft, 2) }
func (l Limits) seamTolerance() float64 { return or(l.SeamTolerance, pattern.SeamTolerance) }

func or(v, otherwise float64) float64 {
	if v > 0 {
		return v
	}
	return otherwise
}

// Run checks a draft and gives all findings, those of the reader with them, in the order in which a
// person would mend them: the file as a whole, then piece by piece, faults of the outline first.
// levels sets the severity of rules by name, Off silences one. The pattern is not changed.
func Run(p *pattern.Pattern, lim Limits, levels map[string]pattern.Severity) []pattern.Finding {
	found := append([]pattern.Finding(nil), p.Findings...)
	d := newDraft(p, lim)
	for _, r := range registry {
		if levels[r.name] == pattern.Off {
			continue
		}
		if r.draft != nil {
			found = append(found, r.draft(d)...)
		}
		if r.piece == nil {
			continue
		}
		for _, s := range d.pieces {
			if r.closed {
				s = s.closed()
			}
			found = append(found, r.piece(s)...)
		}
	}
	return tidy(found, levels)
}

// tidy sets severities, drops what is off and sorts.
func tidy(found []pattern.Finding, levels map[string]pattern.Severity) []pattern.Finding {
	kept := found[:0]
	for _, f := range found {
		if level, ok := levels[f.Rule]; ok {
			f.Severity = level
		}
		if f.Severity != pattern.Off {
			kept = append(kept, f)
		}
	}
	sort.SliceStable(kept, func(i, j int) bool {
		a, b := kept[i], kept[j]
		if a.Index != b.Index {
			return a.Index < b.Index
		}
		_, pa, _ := pattern.RuleNamed(a.Rule)
		_, pb, _ := pattern.RuleNamed(b.Rule)
		return pa < pb
	})
	return few(kept)
}

// most is how many findings of one rule are listed of one piece, or of the draft as a whole.
const most = 20

// few lists the first findings of each rule and piece and counts the others.
func few(found []pattern.Finding) []pattern.Finding {
	type kind struct {
		rule     string
		index    int
		severity pattern.Severity // an error is not lost behind warnings
		hold     bool
	}
	kindOf := func(f pattern.Finding) kind { return kind{f.Rule, f.Index, f.Severity, f.Hold} }
	seen, kept := map[kind]int{}, found[:0]
	for _, f := range found {
		if seen[kindOf(f)]++; seen[kindOf(f)] <= most {
			kept = append(kept, f)
		}
	}
	for i := len(kept) - 1; i >= 0; i-- { // behind the last of its kind
		f, k := kept[i], kindOf(kept[i])
		if more := seen[k] - most; more > 0 {
			rest := pattern.NewFinding(f.Rule, fmt.Sprintf("%d more findings of this kind are not listed", more), "mend these first, then check again")
			rest.Severity, rest.Piece, rest.Index = f.Severity, f.Piece, f.Index
			kept = slices.Insert(kept, i+1, rest)
		}
		delete(seen, k)
	}
	return kept
}
