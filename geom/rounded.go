package geom

import "math"

// Rounded is a number to so many decimals, for messages that print it by %v: 9 stays 9 and is not 9.0.
func Rounded(v float64, decimals int) float64 {
	by := math.Pow10(decimals)
	return math.Round(v*by)/by + 0 // + 0: no minus before nought
}
