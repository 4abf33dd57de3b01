package desk

import (
	"tracewheel/pipeline/desk/checks"
	"tracewheel/pipeline/desk/mend"
)

// pointsDrawn is how many points of outlines the page judges and draws; a smock has some thousands.
const pointsDrawn = 60000

// wish is a draft to be drawn, as it stands in the page.
type wish struct {
	Name string `json:"name"`
	Text string `json:"text"`
	// Body is one of the draft's bodies or a card; Measures are those of the form, and count instead of it where
	// there are any. Unit is theirs, "" for that in which the body is written. Kind is whose measures they are: woman,
	// man, child or "".
	Body     string            `json:"body"`
	Kind     string            `json:"kind"`
	Unit     string            `json:"unit"`
	Measures map[string]string `json:"measures"`
	// Was is the card as it was before a fitting, and counts instead of the file; "" for the file.
	Was string `json:"was"`
	// Before is what it is compared with, nil for nothing; Text "" is the same text. Upon is the lettered point at
	// which both lie upon each other; Beside shows the other pieces beside its own instead of behind.
	Before *wish  `json:"before"`
	Upon   string `json:"upon"`
	Beside bool   `json:"beside"`
	// Frame is how wide and how high the page shows the picture, in points of the screen; 0 where it does not say.
	Frame [2]float64 `json:"frame"`
}

// fault is a finding as the page shows it.
type fault struct {
	Severity string      `json:"severity"`
	Line     int         `json:"line"` // in the text, 0 for none
	Column   int         `json:"column"`
	Number   int         `json:"number"` // in the picture, 0 for none
	Text     string      `json:"text"`
	Mend     string      `json:"mend"`
	Offer    *mend.Offer `json:"offer"`   // the word that is most likely meant, nil for none
	Measure  string      `json:"measure"` // of the form, in which it lies; "" for none
}

// drawing is what came of a wish.
type drawing struct {
	SVG    string  `json:"svg"` // empty where nothing could be drawn
	Faults []fault `json:"faults"`
	Clear  string  `json:"clear"` // what is said where there are no faults
	Errors int     `json:"errors"`
	// Bodies are those that the words tell, to compare with.
	Bodies []string       `json:"bodies"`
	Pieces string         `json:"pieces"`
	Checks []checks.Check `json:"checks"`
	// Changed are the numbers that moved against what it is compared with.
	Changed []string `json:"changed"`
	// lengths are the girths and edges that moved against the same draft as it was.
	lengths []string
	// Blocks are the drafts that it takes from, each with its version; "" for one that is not here.
	Blocks map[string]string `json:"blocks"`
	// Slow says that it took longer than it may and was given up.
	Slow bool `json:"slow"`
}

// frameOr is the frame of a page in picture units. Letters are as high in units in every picture, so that a narrower frame
// counts as frameLeast wide, and is zoomed in.
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
