// Package taken takes the file of a measure card and tells what the card had for a measure before and on which day it was
// taken, with what fittings changed since. It knows no page.
package taken

import (
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"time"

	"tracewheel/pipeline/desk/cardtext"
	"tracewheel/pipeline/desk/checks"
	"tracewheel/pipeline/desk/folder"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/store"
)

// Then is a card as it was: its measures and the day on which they were taken.
type Then struct {
	measures map[string]string
	day      time.Time
}

// History are a card's measures as they are and as they were, the newest first. The day is the card's own "taken:";
// where a card does not say it, the day on which that text was last written: for an old version no earlier day is
// known than that on which it was replaced. A measure that was written in another unit than the card is in now says it.
func History(file string) (out []Then) {
	unit := ""
	add := func(text []byte, written time.Time) {
		said, _ := cardtext.Measures(text)
		was, then := cardtext.Unit(text), Then{map[string]string{}, written}
		for name, v := range said {
			then.measures[name] = cardtext.Number(v)
			if was != unit && then.measures[name] != "" {
				then.measures[name] += " " + was
			}
		}
		if day, err := time.ParseInLocation(time.DateOnly, cardtext.Taken(text), time.Local); err == nil {
			then.day = day
		}
		out = append(out, then)
	}
	text, err := folder.Read(file)
	if err != nil {
		return nil
	}
	unit = cardtext.Unit(text)
	if info, err := os.Stat(file); err == nil {
		add(text, info.ModTime())
	}
	old, err := store.Versions(file)
	if err != nil {
		return out
	}
	for _, v := range slices.Backward(old) {
		text, err := folder.Read(v.File)
		if err != nil {
			continue // removed meanwhile, or no plain file
		}
		add(text, v.At.Local())
	}
	return out
}

// Last says what a card had for a measure and when, where that is not what stands in the field: the newest such value; then
// what a fitting changed. "" where nothing changed.
func Last(history []Then, fittings []cardtext.Fitting, name, value, unit string, now time.Time) string {
	var words []string
	for _, then := range history {
		if v := then.measures[name]; v != "" && v != strings.TrimSpace(value) {
			words = append(words, "was "+v+" on "+Day(then.day, now))
			break
		}
	}
	for _, f := range fittings {
		if day, err := time.ParseInLocation(time.DateOnly, f.Day(), time.Local); err == nil && f.Name == name {
			words = append(words, f.By+" at the fitting of "+Day(day, now))
		}
	}
	if sum := withFittings(fittings, name, value, unit); sum != "" {
		words = append(words, sum)
	}
	return strings.Join(words, "; ")
}

// withFittings says what a measure comes to with what the fittings changed: "84 + 1.2 by fittings = 85.2"; "" where none changed
// it or one of them cannot be read.
func withFittings(fittings []cardtext.Fitting, name, value, unit string) string {
	base, err := pattern.ParseLengthIn(cardtext.Number(value), checks.UnitMM[unit])
	if err != nil {
		return ""
	}
	by, fitted := 0.0, false
	for _, f := range fittings {
		if f.Name != name {
			continue
		}
		said, less := strings.CutSuffix(f.By, "less")
		said, _ = strings.CutSuffix(said, "more")
		mm, err := pattern.ParseLengthIn(strings.TrimSpace(said), checks.UnitMM[unit])
		if err != nil {
			return ""
		}
		if less {
			mm = -mm
		}
		by, fitted = by+mm, true
	}
	if !fitted {
		return ""
	}
	sign := "+"
	if by < 0 {
		sign = "-"
	}
	return fmt.Sprintf("%s %s %s by fittings = %s", cardtext.Number(value), sign, checks.SayIn(math.Abs(by), unit), checks.SayIn(base+by, unit))
}

// Day is a day for people; the year is told where it is another one.
func Day(day, now time.Time) string {
	if day.Year() == now.Year() {
		return day.Format("2 January")
	}
	return day.Format("2 January 2006")
}
