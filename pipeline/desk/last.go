package desk

import (
	"os"
	"slices"
	"strings"
	"time"

	"tracewheel/pipeline/store"
)

// cardThen is a card as it was: its measures and the day on which they were taken.
type cardThen struct {
	measures map[string]string
	day      time.Time
}

// historyOf are a card's measures as they are and as they were, the newest first. The day is the card's own "taken:";
// where a card does not say it, the day on which that text was last written: for an old version no earlier day is
// known than that on which it was replaced. What was written in another unit than the card is in now says it.
func historyOf(file string) (out []cardThen) {
	unit := ""
	add := func(text []byte, written time.Time) {
		said, _ := cardOf(text)
		was, then := unitOn(text), cardThen{map[string]string{}, written}
		for name, v := range said {
			then.measures[name] = numberOf(v)
			if was != unit && then.measures[name] != "" {
				then.measures[name] += " " + was
			}
		}
		if day, err := time.ParseInLocation(time.DateOnly, takenOf(text), time.Local); err == nil {
			then.day = day
		}
		out = append(out, then)
	}
	text, err := readPlain(file)
	if err != nil {
		return nil
	}
	unit = unitOn(text)
	if info, err := os.Stat(file); err == nil {
		add(text, info.ModTime())
	}
	old, err := store.Versions(file)
	if err != nil {
		return out
	}
	for _, v := range slices.Backward(old) {
		text, err := readPlain(v.File)
		if err != nil {
			continue // removed meanwhile, or no plain file
		}
		add(text, v.At.Local())
	}
	return out
}

// lastOf says what a card had for a measure and when: the newest value that is not the field's, else the field's own;
// then what a fitting changed. "" where the card never had the measure.
func lastOf(history []cardThen, fittings []fittingLine, name, value string, now time.Time) string {
	var words []string
	found := -1
	for i, then := range history {
		v := then.measures[name]
		if v == "" {
			continue
		}
		if v != strings.TrimSpace(value) {
			found = i
			break
		}
		if found < 0 {
			found = i
		}
	}
	if found >= 0 {
		words = append(words, "was "+history[found].measures[name]+" on "+dayOf(history[found].day, now))
	}
	for _, f := range fittings {
		if day, err := time.ParseInLocation(time.DateOnly, f.day(), time.Local); err == nil && f.Name == name {
			words = append(words, f.By+" at the fitting of "+dayOf(day, now))
		}
	}
	return strings.Join(words, "; ")
}

// dayOf is a day for people; the year is told where it is another one.
func dayOf(day, now time.Time) string {
	if day.Year() == now.Year() {
		return day.Format("2 January")
	}
	return day.Format("2 January 2006")
}
