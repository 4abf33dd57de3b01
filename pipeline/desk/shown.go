package desk

import (
	"fmt"
	"html/template"
	"slices"

	"tracewheel/pipeline/desk/differing"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/dropping"
)

// measure is a field of the form.
type measure struct {
	Name, Value, How string
	Slip, Severity   string        // what is wrong with it, "" for nothing
	Tape             template.HTML // where the tape goes, drawn
	Last             string        // what the card had, and when
}

// deskPage is a draft on the desk.
type deskPage struct {
	Name, Text, Version string
	Unsaved             bool // the words are not the file's
	Answer              bool // all that stood in the form stands here
	Body                string
	Bodies, Cards       []string
	Unit                string // of the measures: a card's is its own
	DraftUnit           string
	Kind                string
	Kinds               []string
	Measures            []measure
	Figures             template.HTML // what the measures' drawings show
	Unkept              bool          // the measures are neither the body's nor the card's
	Card                string        // the name by which they may be kept
	CardSeen            string        // cardSeen of what the page began from, "" for none
	CardSays            string        // whose measures stand in the form, where they are a card's
	Lacks               string        // what is said of a card that is not there
	CardNow             []string      // where the card of now is not what the page began from
	Fittings            []listedFitting
	Fit                 *fitForm  // of the card's wearer, nil where there is no card
	FitSeam             *seamForm // the same at a seam
	FitNames            []string  // what a fitting may change by its name
	FitSeams            []seamPlaces
	Drawing             drawing
	Picture             template.HTML
	With, Upon          string // what the pieces are compared with, and where they lie upon each other
	Beside              bool
	Opened              string           // the draft and the measures with which the page was opened, a wish as JSON
	Said                string           // what was just done
	Refused             string           // what was asked and could not be done
	Slipped             bool             // it was refused for a slip in a measure
	Stale               bool             // the picture is of the pieces as they were
	Theirs              string           // the file as it is, where it was changed meanwhile
	Since               differing.Change // what another program changed since the page was opened
	Mine                differing.Change // then what is written here and not saved
	Began               bool             // the words are known with which the page was opened; else Mine is against the file
	fitted              string           // what a fitting that was just written names
	From                string           // the drafts that it takes from, "" for none
	Devices             []string         // to which it may be sent; nil where no daemon runs
	Device              string           // that was chosen
	Ticket              dropping.Ticket
}

// Eighths are the fractions of an inch that the page offers to fingers; by keys they are written.
func (deskPage) Eighths() []string { return []string{"1/8", "1/4", "3/8", "1/2", "5/8", "3/4", "7/8"} }

// Spelt is a unit within a sentence.
func (deskPage) Spelt(unit string) string { return sentence.SpokenUnit(unit) }

// howToSend says from where a draft is sent.
const howToSend = "Start the workroom (tracewheel run) and open its page by tracewheel page: under Drafting it shows this desk, and there drafts are sent."

// HowToSend says from where the draft can be sent.
func (deskPage) HowToSend() string { return howToSend }

// bodyChoice is a body or a card that the page offers.
type bodyChoice struct {
	Value, Words string
	Chosen       bool
}

// Choices are the bodies and cards that may be drawn, and what is drawn now where it is none of them: no browser then
// chooses another one by itself.
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

// placesOf are the places of all seams, and the one that is chosen.
type placesOf struct {
	Seams        []seamPlaces
	Seam, Chosen string
}

// PlacesFor are the places that a fitting at a seam may name.
func (p deskPage) PlacesFor(chosen string) placesOf {
	return placesOf{p.FitSeams, p.FitSeam.Seam, chosen}
}
