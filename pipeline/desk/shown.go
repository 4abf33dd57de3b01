package desk

import (
	"fmt"
	"html/template"
	"slices"
	"strings"

	"tracewheel/pipeline/desk/differing"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/dropping"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/tape"
)

// measure is a field of the form.
type measure struct {
	Name, Value, How string
	Slip, Severity   string        // its fault, "" for none
	Tape             template.HTML // drawing of where the tape goes
	Last             string        // the card's value before, and when
	New              bool          // it was just added
}

// ofWholeBody are the measures that go over both sides, so that one of one side is of a body with two such sides (common practice).
var ofWholeBody = []string{"head", "neck", "bust", "high bust", "waist", "hip", "across front", "across back", "apex separation"}

// howToTake says where the tape goes for a measure, also for one of one side.
func howToTake(name string) string {
	side, of := sentence.SideOf(name)
	switch how := tape.How(of); {
	case side == "":
		return how
	case slices.Contains(ofWholeBody, of):
		return "twice what is measured from the middle on the " + side + " side, as if both sides were so"
	case how == "":
		return "of the " + side + " side alone"
	default:
		return "on the " + side + " side, " + how
	}
}

// oneSide gives a form's measures one of a side of the wearer, with the value of both sides.
func (h head) oneSide(side, of string, typed map[string]string) (name string) {
	if side != "left" && side != "right" || of == "" {
		return ""
	}
	name = side + " " + of
	if typed[name] != "" {
		return name
	}
	typed[name] = typed[of]
	for _, from := range []*head{h.block, &h} {
		if from == nil {
			continue
		}
		for _, n := range from.said["numbers"] {
			if _, err := pattern.ParseLength(n.Text); n.Key == of && err == nil && typed[name] == "" {
				typed[name] = strings.TrimSpace(n.Text)
			}
		}
	}
	return name
}

// deskPage is the page of a draft.
type deskPage struct {
	Name, Text, Version string
	Unsaved             bool // the text differs from the file
	Answer              bool // the page repeats everything of the form
	Body                string
	Bodies, Cards       []string
	Unit                string // of the measures: that of a card is its own
	DraftUnit           string
	Kind                string
	Kinds               []string
	Measures            []measure
	Figures             template.HTML // the figures in the measures' drawings
	Unkept              bool          // the measures are neither the body's nor the card's
	Card                string        // the name under which they can be saved
	CardSeen            string        // cardSeen of the card that the page read, "" for none
	CardSays            string        // the card whose measures are in the form, "" for none
	Lacks               string        // the message about a missing card
	CardNow             []string      // the present card's measures, where it changed since the page read it
	Fittings            []listedFitting
	Fit                 *fitForm  // of the card's wearer, nil without a card
	FitSeam             *seamForm // the same at a seam
	FitNames            []string  // the names that a fitting may change
	SideNames           []string  // those that may be told of one side of the wearer
	added               string    // the measure that was just added
	FitSeams            []seamPlaces
	Drawing             drawing
	Picture             template.HTML
	With, Upon          string // what the pieces are compared with, and the point at which they are aligned
	Beside              bool
	Opened              string           // the draft and the measures with which the page was opened, a wish as JSON
	Said                string           // what was just done
	Refused             string           // what was refused, and why
	Slipped             bool             // it was refused for a fault in a measure
	Stale               bool             // the picture shows earlier pieces
	Theirs              string           // the present file, where it was changed meanwhile
	Since               differing.Change // what another program changed since the page was opened
	Mine                differing.Change // the unsaved changes of the page then
	Began               bool             // the text at opening is known; else Mine is against the file
	fitted              string           // the name in a fitting that was just written
	From                string           // the drafts that it takes from, "" for none
	Devices             []string         // to which it can be sent; nil without a daemon
	Device              string           // the chosen device
	Ticket              dropping.Ticket
}

// Eighths are the fractions of an inch on the page's buttons for touch screens.
func (deskPage) Eighths() []string { return []string{"1/8", "1/4", "3/8", "1/2", "5/8", "3/4", "7/8"} }

// Spelt is a unit within a sentence.
func (deskPage) Spelt(unit string) string { return sentence.SpokenUnit(unit) }

// howToSend says how to send a draft.
const howToSend = "Start the workroom (tracewheel run) and open its page by tracewheel page: under Drafting it shows this desk, and there drafts are sent."

// HowToSend says how the draft can be sent.
func (deskPage) HowToSend() string { return howToSend }

// bodyChoice is a body or a card that the page offers.
type bodyChoice struct {
	Value, Words string
	Chosen       bool
}

// Choices are the bodies and cards that can be drawn, and the present one where it is not among them, so that browsers
// do not select another.
func (p deskPage) Choices() (out []bodyChoice) {
	for _, name := range slices.Concat(p.Bodies, p.Cards) {
		if !slices.ContainsFunc(out, func(c bodyChoice) bool { return c.Value == name }) {
			out = append(out, bodyChoice{name, name, name == p.Body})
		}
	}
	if slices.ContainsFunc(out, func(c bodyChoice) bool { return c.Chosen }) || len(out) == 0 && p.Body == "" {
		return out
	}
	words := "as the draft says"
	if p.Body != "" {
		words = fmt.Sprintf("%s, which is not here", p.Body)
	}
	return append([]bodyChoice{{p.Body, words, true}}, out...)
}

// placesOf are the places of all seams, and the chosen one.
type placesOf struct {
	Seams        []seamPlaces
	Seam, Chosen string
}

// PlacesFor are the places that a fitting at a seam can name.
func (p deskPage) PlacesFor(chosen string) placesOf {
	return placesOf{p.FitSeams, p.FitSeam.Seam, chosen}
}
