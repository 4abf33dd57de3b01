package look

import (
	"strings"

	"tracewheel/pipeline/pattern"
)

// Kind is the purpose of a line, finer than its role: a fold and a placement are both marks, and look different.
type Kind string

// The kinds of lines.
const (
	Cut          Kind = "cut"
	Cutout       Kind = "cutout"
	Slit         Kind = "slit"
	Sew          Kind = "sew"
	Dart         Kind = "dart"
	Notch        Kind = "notch"
	Fold         Kind = "fold"
	OnFold       Kind = "on-fold"
	PleatFold    Kind = "pleat-fold"
	Placement    Kind = "placement"
	LaidTo       Kind = "laid-to"
	Gathers      Kind = "gathers"
	Ease         Kind = "ease"
	LengthenHere Kind = "lengthen-here"
	Buttonhole   Kind = "buttonhole"
	Button       Kind = "button"
	BustPoint    Kind = "bust-point"
	Grain        Kind = "grain"
	Drill        Kind = "drill"
	Loop         Kind = "loop"
	Mark         Kind = "mark"
	Flaw         Kind = "flaw"
	Stripe       Kind = "stripe"
	Plaid        Kind = "plaid"
	Quality      Kind = "quality"
	Text         Kind = "text"
	Check        Kind = "check"
	Before       Kind = "before"
	NotCut       Kind = "not-cut"
	// A machine's file tells only by which pen a line is drawn, or the path of a tool.
	FirstPen Kind = "pen-1"
	OtherPen Kind = "pen-2"
	ToolPath Kind = "tool-path"
	Wanted   Kind = "wanted"
	AsCut    Kind = "as-cut"
)

// Form is how lines of a kind are drawn. Kinds differ by form first and by ink second, so that they can be told apart
// with one pen or in grey.
type Form struct {
	Kind Kind
	// Words explain the kind in a legend.
	Words string
	Ink   Ink
	// Width is in picture units (a picture is about a thousand wide). Pens have their own width.
	Width float64
	// Dash alternates drawn and empty lengths: mm on paper, picture units in a picture; nil is a continuous line.
	Dash []float64
}

// forms is the only table of line kinds, in the order of legends. The dashes are common practice; each kind has its
// own, since a plot has one pen.
var forms = []Form{
	{Cut, "cut line", Dark, 2, nil},
	{Cutout, "cut-out", Dark, 1.6, nil},
	{Slit, "slit", Dark, 1.6, nil},
	{Sew, "sew line", Thread, 1.4, []float64{9, 4}},
	{Dart, "dart", Thread, 1.4, []float64{9, 4}},
	{Notch, "notch", Dark, 1.8, nil},
	{Fold, "fold", Plum, 1.6, []float64{14, 4, 3, 4}},
	{OnFold, "place on the fold", Plum, 1.2, nil},
	{PleatFold, "pleat: folded here", Plum, 1.4, []float64{14, 3, 2, 3, 2, 3}},
	{Placement, "pleat: laid to here", Plum, 1.2, []float64{4, 3}},
	{LaidTo, "pleat: laid this way", Plum, 1.2, nil},
	{Gathers, "gathers", Thread, 1.2, nil},
	{Ease, "ease", Thread, 1.2, nil},
	{Grain, "grain", Chalk, 1.4, nil},
	{Drill, "drill mark", Plum, 1.4, nil},
	{Loop, "loop", Plum, 1.4, nil},
	{Buttonhole, "buttonhole", Plum, 1.4, nil},
	{Button, "button", Plum, 1.4, nil},
	{BustPoint, "bust point", Plum, 1.4, nil},
	{LengthenHere, "lengthen or shorten here", Slate, 1.1, nil},
	{Mark, "inner line", Slate, 1.1, []float64{6, 3}},
	{Flaw, "flaw, kept free", Crimson, 1.4, []float64{3, 3}},
	{Stripe, "stripe", Slate, 1.1, []float64{12, 3, 12, 3, 2, 3}},
	{Plaid, "plaid", Slate, 1.1, []float64{12, 3, 2, 3, 2, 3, 2, 3}},
	{Quality, "reference", Pale, 0.9, []float64{2, 4}},
	{Text, "letters", Slate, 1, nil},
	{Check, "test square", Slate, 1, nil},
	{Before, "as it was before", Pale, 1.4, nil},
	{NotCut, "not cut: sew lines, grain, marks", Pale, 0.9, nil},
	{FirstPen, "drawn by pen 1", Dark, 1.1, nil},
	{OtherPen, "drawn by another pen", Thread, 1.1, nil},
	{ToolPath, "way of the tool", Dark, 2, nil},
	{Wanted, "line wanted", Pale, 0.9, []float64{2, 4}},
	{AsCut, "cut by the simulated blade", Dark, 2, nil},
}

// Forms lists all kinds in the order of legends.
func Forms() []Form { return forms }

// Of is the form of a kind; an unknown kind has that of an inner line.
func Of(k Kind) Form {
	for _, f := range forms {
		if f.Kind == k {
			return f
		}
	}
	return Of(Mark)
}

// called are the kinds of inner lines that are known by their names in the draft, in lower case.
var called = map[string]Kind{
	"dart leg": Dart, "slit": Slit, "loop": Loop, "placement": Placement, "inner fold": PleatFold, "outer fold": PleatFold,
	"pleat arrow": LaidTo, "gathering line": Gathers, "ease line": Ease, "buttonhole": Buttonhole, "button": Button, "bust point": BustPoint,
	"lengthen or shorten here": LengthenHere, "lengthen here": LengthenHere, "shorten here": LengthenHere,
	"waist": Quality, "waist line": Quality, "hip": Quality, "hip line": Quality, "bust": Quality, "bust line": Quality, "level": Quality, "plumb": Quality,
	"knee": Quality, "knee line": Quality, "centre front": Quality, "centre back": Quality,
}

// BracketLabel is the name of the bracket that marks the edge on the fold.
const BracketLabel = "place on the fold"

// KindOf is the kind of a line of a role; label is the line's name in the draft, if any.
func KindOf(role pattern.Role, label string) Kind {
	if role == pattern.RoleMark {
		if k, ok := called[strings.ToLower(strings.TrimSpace(label))]; ok {
			return k
		}
		return Mark
	}
	if role == pattern.RoleFold && label == BracketLabel {
		return OnFold
	}
	for _, f := range forms {
		if f.Kind == Kind(role) {
			return f.Kind
		}
	}
	return Mark
}
