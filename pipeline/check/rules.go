package check

import "tracewheel/pipeline/pattern"

// rule is one thing that is looked for: on each piece, or once in the draft.
type rule struct {
	name  string
	piece func(*subject) []pattern.Finding
	draft func(*draft) []pattern.Finding
	// closed has a piece whose outline is open looked at as if a straight line closed it.
	closed bool
}

// registry holds the rules that are checked here. Names, default severities and the order for
// people are in pattern's list; a test holds both together.
var registry = []rule{
	{name: pattern.RuleSizeImplausible, draft: sizeImplausible},
	{name: pattern.RuleOutlineOpen, piece: outlineOpen},
	{name: pattern.RuleOutlineCrosses, piece: outlineCrosses},
	{name: pattern.RuleOutlineDoubled, draft: outlineDoubled},
	{name: pattern.RuleOutlineTurnsBack, piece: outlineTurnsBack},
	{name: pattern.RuleCutoutOutside, piece: cutoutOutside},
	{name: pattern.RuleMarkOutside, piece: markOutside},
	{name: pattern.RuleFoldNotStraight, piece: foldNotStraight},
	{name: pattern.RuleSewLineOutside, piece: sewLineOutside},
	{name: pattern.RuleAllowanceMissing, piece: allowanceMissing},
	{name: pattern.RuleAllowanceUnsaid, piece: allowanceUnstated},
	{name: pattern.RuleNoSewLine, piece: noSewLine},
	{name: pattern.RuleAllowanceNarrow, piece: allowanceNarrow},
	{name: pattern.RuleAllowanceWide, piece: allowanceWide},
	{name: pattern.RuleSlitFilled, piece: slitFilled},
	{name: pattern.RuleNotchDeep, piece: notchDeep, closed: true},
	{name: pattern.RuleNotchOffLine, piece: notchOffLine, closed: true},
	{name: pattern.RuleNotchOutward, piece: notchOutward, closed: true},
	{name: pattern.RuleNotchOnFold, piece: notchOnFold},
	{name: pattern.RuleNotchNoDepth, piece: notchNoDepth, closed: true},
	{name: pattern.RuleNotchNearCorner, piece: notchNearCorner},
	{name: pattern.RuleNotchesCrowded, piece: notchesCrowded, closed: true},
	{name: pattern.RuleNotchNoPartner, draft: notchNoPartner},
	{name: pattern.RuleSeamLengths, draft: seamLengths},
	{name: pattern.RuleCornerNotTrue, draft: cornerNotTrue},
	{name: pattern.RuleGrainMissing, piece: grainMissing},
	{name: pattern.RuleGrainOutside, piece: grainOutside},
	{name: pattern.RuleTooWide, piece: tooWide},
	{name: pattern.RuleTooFine, piece: tooFine},
	{name: pattern.RuleQuantityMissing, piece: quantityMissing},
	{name: pattern.RuleLabelMissing, piece: labelMissing},
}
