package draft

import "regexp"

var (
	draftKeys = regexp.MustCompile(`(?m)^["']?(?:pieces|draft [^:\n]+)["']?\s*:`)
	styleKey  = regexp.MustCompile(`(?m)^["']?style["']?\s*:`)
	cardKey   = regexp.MustCompile(`(?m)^["']?measures["']?\s*:`)
)

// IsCard tells a measure card from a measured draft by its keys.
func IsCard(text []byte) bool { return cardKey.Match(text) && !draftKeys.Match(text) }

// IsMeasured tells a measured draft from a measure card by its keys; a file without keys of either is left to its reader,
// which says what is wrong.
func IsMeasured(text []byte) bool {
	return draftKeys.Match(text) || styleKey.Match(text) && !IsCard(text)
}
