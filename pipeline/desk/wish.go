package desk

import (
	"tracewheel/pipeline/desk/checks"
	"tracewheel/pipeline/desk/mend"
)

// pointsDrawn bounds the points of outlines that the page checks and draws; a smock has some thousands.
const pointsDrawn = 60000

// wish is a draft to be drawn, as it is in the page.
type wish struct {
	Name string `json:"name"`
	Text string `json:"text"`
	// Body is one of the draft's bodies or a card; Measures are the form's, and replace it where there are any. Unit
	// is their unit, "" for that of the body. Kind is the kind of wearer: woman, man, child or "".
	Body     string            `json:"body"`
	Kind     string            `json:"kind"`
	Unit     string            `json:"unit"`
	Measures map[string]string `json:"measures"`
	// Was is the text of the card before a fitting, which replaces the file; "" for the file.
	Was string `json:"was"`
	// Before is the wish compared with, nil for none; Text "" is the same text. Upon is the lettered point at which
	// both are aligned; Beside shows the other pieces beside its own instead of behind.
	Before *wish  `json:"before"`
	Upon   string `json:"upon"`
	Beside bool   `json:"beside"`
	// Frame is the width and height of the picture on the page, in CSS pixels; 0 where they are not known.
	Frame [2]float64 `json:"frame"`
}

// fault is a finding as the page shows it.
type fault struct {
	Severity string      `json:"severity"`
	Line     int         `json:"line"` // of the text, 0 for none
	Column   int         `json:"column"`
	Number   int         `json:"number"` // in the picture, 0 for none
	Text     string      `json:"text"`
	Mend     string      `json:"mend"`
	Offer    *mend.Offer `json:"offer"`   // the word that is most likely meant, nil for none
	Measure  string      `json:"measure"` // of the form, with the fault; "" for none
}

// drawing is the result of a wish.
type drawing struct {
	SVG    string  `json:"svg"` // empty where nothing could be drawn
	Faults []fault `json:"faults"`
	Clear  string  `json:"clear"` // the message where there are no faults
	Errors int     `json:"errors"`
	// Bodies are those of the draft, to compare with.
	Bodies []string       `json:"bodies"`
	Pieces string         `json:"pieces"`
	Checks []checks.Check `json:"checks"`
	// Changed are the numbers that differ from those compared with.
	Changed []string `json:"changed"`
	// lengths are the girths and edges that differ from an earlier version of the same draft.
	lengths []string
	// Blocks are the drafts that it takes from, each with its version; "" for a missing one.
	Blocks map[string]string `json:"blocks"`
	// Slow means that it took longer than the limit and was given up.
	Slow bool `json:"slow"`
}

// frameOr is the frame of a page in picture units. Letters have the same height in units in every picture, so that a
// narrower frame counts as frameLeast wide, and is zoomed.
func (w wish) frameOr() (wide, high float64) {
	const frameLeast, frameMost = 560, 2400
	if w.Frame[0] < 100 || w.Frame[1] < 100 {
		return frameLeast, frameLeast
	}
	wide, high = min(w.Frame[0], frameMost), min(w.Frame[1], frameMost)
	if wide < frameLeast {
		wide, high = frameLeast, high*frameLeast/wide
	}
	return wide, high
}
