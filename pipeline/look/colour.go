// Package look holds the appearance of pictures, plots, legends and pages: the table of inks, the table of line kinds,
// the dashes that a pen draws for them, and the style sheet of every page. It takes a role and a line's name.
package look

import (
	"fmt"
	"image/color"
	"strings"
)

// Ink is one colour, on light ground and on dark.
type Ink struct {
	// Name is the name of the style sheet's variable.
	Name        string
	Light, Dark color.RGBA
}

func rgb(hex uint32) color.RGBA {
	return color.RGBA{uint8(hex >> 16), uint8(hex >> 8), uint8(hex), 0xff}
}

// The backgrounds: the table, the bed of a machine, and paper or cloth on it.
var (
	Ground = Ink{"ground", rgb(0xfcfaf4), rgb(0x1d232c)}
	Bed    = Ink{"bed", rgb(0xf1ecdf), rgb(0x252c36)}
	Paper  = Ink{"paper", rgb(0xffffff), rgb(0x2a313c)}
)

// The inks. All but Pale and Hair are readable as text on every background (contrast 4.5 to 1 at least); Pale is for
// lines and marks only (3 to 1), Hair for lines without a meaning.
var (
	Dark    = Ink{"dark", rgb(0x222b3c), rgb(0xece7da)}
	Thread  = Ink{"thread", rgb(0x8f5a18), rgb(0xe0ad6a)}
	Chalk   = Ink{"chalk", rgb(0x28706b), rgb(0x74c4bd)}
	Plum    = Ink{"plum", rgb(0x7a4e9c), rgb(0xc9a6e8)}
	Crimson = Ink{"crimson", rgb(0xb81b36), rgb(0xff929c)}
	Amber   = Ink{"amber", rgb(0x8a5600), rgb(0xe8b04a)}
	Slate   = Ink{"slate", rgb(0x556480), rgb(0xaebbd0)}
	Pale    = Ink{"pale", rgb(0x827c6e), rgb(0x9d9788)}
	Hair    = Ink{"hair", rgb(0xd9d2c0), rgb(0x48515e)}
)

var inks = []Ink{Ground, Bed, Paper, Dark, Thread, Chalk, Plum, Crimson, Amber, Slate, Pale, Hair}

// Hex is a colour as SVG and style sheets write it.
func Hex(c color.RGBA) string { return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B) }

// DarkSVG is the style of an SVG picture whose lines and areas have the light colours as attributes: on a dark screen
// it replaces each by its dark one.
func DarkSVG() string {
	var b strings.Builder
	b.WriteString("@media screen and (prefers-color-scheme:dark){")
	for _, k := range inks {
		for _, what := range []string{"fill", "stroke"} {
			fmt.Fprintf(&b, `[%s="%s"]{%[1]s:%[3]s}`, what, Hex(k.Light), Hex(k.Dark))
		}
	}
	b.WriteByte('}')
	return b.String()
}
