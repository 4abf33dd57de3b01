// Package taken takes the file of a measure card and gives the earlier values of a measure with their days, and the
// changes by fittings since. It knows no page.
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

// Then is an earlier card: its measures and the day on which they were taken.
type Then struct {
	measures map[string]string
	day      time.Time
}

// History are a card's present and earlier measures, the newest first. The day is the card's own "taken:", else the
// day on which that text was last written, which for an old version is the day on which it was replaced. A measure in
// another unit than the present card's has its unit.
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
			continue // removed meanwhile, or not a regular file
		}
		add(text, v.At.Local())
	}
	return out
}

// Last is a measure's newest earlier value that differs from the field, with its day, then the changes by fittings. ""
// where nothing changed.
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

// withFittings is the value of a measure with the fittings' changes: "84 + 1.2 by fittings = 85.2"; "" where none
// changed it or one of them cannot be read.
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

// Day formats a day for people; the year is left out for the present one.
func Day(day, now time.Time) string {
	if day.Year() == now.Year() {
		return day.Format("2 January")
	}
	return day.Format("2 January 2006")
}
