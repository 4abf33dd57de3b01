package pattern

// Rule is the name under which findings are known in text, in JSON and in the workroom file.
type Rule struct {
	Name string
	// Default is the severity where neither the workroom file nor the finding itself says otherwise.
	Default Severity
	// Text says in one line what the rule is about.
	Text string
}

// The rules. Readers raise those of the first group, checks those of the second, and preparing a
// draft for a device those of the third.
const (
	RuleGapBridged      = "gap-bridged"
	RuleOverlapTrimmed  = "overlap-trimmed"
	RuleLeftOut         = "left-out"
	RuleUnitsUnknown    = "units-unknown"
	RuleUnitsDisagree   = "units-disagree"
	RuleUnitsAssumed    = "units-assumed"
	RuleQualityDiffers  = "quality-line-differs"
	RuleCutoutOrSewLine = "cutout-or-sew-line"
	RuleUnreadable      = "unreadable"
	RuleReadAssumed     = "reading-assumed"
	RuleNoPieces        = "no-pieces"
	// Of measured drafts.
	RuleMeasureUnlikely = "measure-unlikely"
	RuleEaseNotKept     = "ease-not-kept"
	RuleNotForBody      = "not-for-this-body"
	RuleImpossible      = "sentence-impossible"
	RuleCurvePast       = "curve-past-its-ends"

	RuleOutlineOpen      = "outline-open"
	RuleOutlineCrosses   = "outline-crosses-itself"
	RuleOutlineDoubled   = "outline-doubled"
	RuleOutlineTurnsBack = "outline-turns-back"
	RuleNoSewLine        = "no-sew-line"
	RuleSewLineOutside   = "sew-line-outside"
	RuleAllowanceMissing = "allowance-missing"
	RuleAllowanceUnsaid  = "allowance-unstated"
	RuleAllowanceNarrow  = "allowance-narrow"
	RuleSlitFilled       = "slit-filled"
	RuleAllowanceWide    = "allowance-wide"
	RuleAllowancesUnlike = "allowances-unlike"
	RuleNotchDeep        = "notch-deeper-than-allowance"
	RuleNotchOffLine     = "notch-off-cut-line"
	RuleNotchOutward     = "notch-points-outward"
	RuleNotchNoDepth     = "notch-without-depth"
	RuleNotchNearCorner  = "notch-near-corner"
	RuleNotchNoPartner   = "notch-without-partner"
	RuleNotchOnFold      = "notch-on-fold"
	RuleNotchesCrowded   = "notches-crowded"
	RuleCutoutOutside    = "cutout-outside"
	RuleMarkOutside      = "mark-outside"
	RuleSeamLengths      = "seam-lengths-differ"
	RuleCornerNotTrue    = "corner-not-true"
	RuleGrainMissing     = "grain-missing"
	RuleGrainOutside     = "grain-outside"
	RuleFoldNotStraight  = "fold-not-straight"
	RuleSizeImplausible  = "size-implausible"
	RuleTooWide          = "too-wide"
	RuleTooShort         = "too-short"
	RuleTooFine          = "too-fine-for-blade"
	RuleQuantityMissing  = "quantity-missing"
	RuleLabelMissing     = "label-missing"

	RuleEverySize        = "every-size"
	RulePairAssumed      = "pair-assumed"
	RuleAllowanceAssumed = "allowance-assumed"
	RuleLettersShrunk    = "letters-left-out"
	RuleMarksNotMade     = "marks-not-made"
	RuleOtherCloth       = "other-cloth"

	RuleTicket      = "ticket-unclear"
	RuleNotPrepared = "cannot-be-prepared"
	RuleNotDrawn    = "cannot-be-drawn"
)

// rules holds every name once, outline faults first, in the order in which a person would mend
// them; findings of one piece are sorted by it.
var rules = []Rule{
	{RuleUnreadable, Error, "a part of the draft cannot be read as it is written"},
	{RuleImpossible, Error, "a sentence of the draft is read, and what it says cannot be drawn or sewn"},
	{RuleNotForBody, Error, "the draft is read, and cannot be drawn with the measures of this body"},
	{RuleNoPieces, Error, "the draft holds no outline of a piece"},
	{RuleUnitsUnknown, Error, "the draft does not say in which unit it is drawn"},
	{RuleUnitsDisagree, Warning, "two places of the draft name different units"},
	{RuleUnitsAssumed, Note, "the unit was taken from the form of the file"},
	{RuleReadAssumed, Note, "something in the draft can be read in more than one way"},
	{RuleSizeImplausible, Error, "a piece is far too small or too large for a garment"},
	{RuleMeasureUnlikely, Warning, "a body measure is not what is usual"},
	{RuleCurvePast, Warning, "a curve runs past both its ends and turns back"},
	{RuleEaseNotKept, Error, "a finished girth or opening is not what the draft asks for"},
	{RuleOutlineOpen, Error, "the outline does not close"},
	{RuleOutlineCrosses, Error, "the outline crosses itself"},
	{RuleOutlineDoubled, Error, "a line lies twice in the same place"},
	{RuleOutlineTurnsBack, Error, "the outline turns back upon itself"},
	{RuleGapBridged, Note, "a small gap between two ends was closed with a straight line"},
	{RuleOverlapTrimmed, Note, "two ends that ran past each other were trimmed"},
	{RuleQualityDiffers, Note, "the drawn outline leaves the finer curve that the draft gives beside it"},
	{RuleCutoutOrSewLine, Warning, "an inner line on the cut layer may be a cut-out or a sew line"},
	{RuleCutoutOutside, Error, "a cut-out or a cut buttonhole reaches a seam or leaves the piece"},
	{RuleMarkOutside, Warning, "a mark reaches outside the piece, a buttonhole a seam, or a slit parts the piece"},
	{RuleFoldNotStraight, Error, "the fold line does not lie on a straight edge of the piece"},
	{RuleSewLineOutside, Error, "the sew line runs outside the cut line"},
	{RuleAllowanceMissing, Error, "there is no seam allowance where one is needed"},
	{RuleAllowanceUnsaid, Warning, "the draft does not say whether its outline includes the seam allowance"},
	{RuleNoSewLine, Note, "a cut line has no sew line, so its allowance cannot be measured"},
	{RuleAllowanceNarrow, Error, "the allowance is too narrow along part of an edge"},
	{RuleAllowanceWide, Warning, "the allowance is too wide along part of an edge"},
	{RuleSlitFilled, Warning, "a slit in the outline is narrower than the allowances of its sides, so that the cut line leaves it out"},
	{RuleAllowancesUnlike, Warning, "two edges that are sewn together, or run on across a seam, have different allowances"},
	{RuleNotchDeep, Error, "a notch comes too close to the sew line, or crosses it"},
	{RuleNotchOffLine, Warning, "a notch does not lie on the line that is cut"},
	{RuleNotchOutward, Warning, "a notch points out of the piece"},
	{RuleNotchOnFold, Error, "a notch lies along the fold, where nothing may be cut"},
	{RuleNotchNoDepth, Note, "a notch has no depth, so the workroom's is used"},
	{RuleNotchNearCorner, Warning, "a notch lies so near a corner that it will be lost"},
	{RuleNotchesCrowded, Warning, "two notches lie so near each other that the cloth between them tears out"},
	{RuleNotchNoPartner, Warning, "a notch on a seam has none to meet on the other piece"},
	{RuleSeamLengths, Error, "two edges that are sewn together differ in length"},
	{RuleCornerNotTrue, Warning, "two pieces make a peak or a dent where they are joined"},
	{RuleGrainMissing, Note, "a piece has no grain line"},
	{RuleGrainOutside, Warning, "the grain line leaves the piece"},
	{RuleTooWide, Error, "a piece does not fit the device in any turn allowed"},
	{RuleTooShort, Error, "the material is too short for the pieces as they are laid"},
	{RuleTooFine, Warning, "a shape is finer than the blade can turn"},
	{RuleQuantityMissing, Note, "the draft does not say how many to cut"},
	{RuleLabelMissing, Note, "a piece has no name"},
	{RuleLeftOut, Note, "something in the draft was not used"},
	{RuleEverySize, Note, "no ticket names the sizes, so every size is made"},
	{RulePairAssumed, Note, "an even number to cut of a one-sided piece is taken as pairs"},
	{RuleAllowanceAssumed, Note, "the allowance is the workroom's own"},
	{RuleLettersShrunk, Note, "a piece is too small for its letters"},
	{RuleMarksNotMade, Note, "the device cannot make some of the marks"},
	{RuleOtherCloth, Warning, "pieces name another cloth than the one that they are cut from"},
	{RuleTicket, Error, "the ticket asks for what cannot be understood or is not there"},
	{RuleNotPrepared, Error, "no cut-ready piece can be made of the draft"},
	{RuleNotDrawn, Error, "the device cannot draw or cut what was made"},
}

// Rules lists every rule in the order in which a person would mend what they find. The caller may
// change the list.
func Rules() []Rule { return append([]Rule(nil), rules...) }

// RuleNames are the names of all rules, for the workroom file.
func RuleNames() []string {
	names := make([]string, len(rules))
	for i, r := range rules {
		names[i] = r.Name
	}
	return names
}

// RuleNamed finds a rule; place is where it stands in the order of Rules, len(Rules()) for a name
// that is none.
func RuleNamed(name string) (r Rule, place int, ok bool) {
	for i, r := range rules {
		if r.Name == name {
			return r, i, true
		}
	}
	return Rule{}, len(rules), false
}

// NewFinding starts a finding of a rule with its default severity, about the file as a whole.
func NewFinding(rule, message, mend string) Finding {
	r, _, _ := RuleNamed(rule)
	return Finding{Rule: rule, Severity: r.Default, Index: -1, Message: message, Mend: mend}
}
