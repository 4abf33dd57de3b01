package pdf

import (
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/gomono"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// mono is the face of fixed width.
const mono = "mono"

// face is one of the three fonts, which are free to embed (BSD licence, golang.org/x/image/font/gofont).
type face struct {
	data []byte
	font *sfnt.Font
}

var faces = sync.OnceValue(func() map[string]face {
	out := map[string]face{}
	for style, data := range map[string][]byte{"": goregular.TTF, "B": gobold.TTF, mono: gomono.TTF} {
		f, err := sfnt.Parse(data)
		if err != nil {
			panic(err) // the font is part of this program
		}
		out[style] = face{data, f}
	}
	return out
})

// units is the resolution at which a font is measured.
const units = 2048

// capital is the height of a capital letter of the fonts in parts of the font's size.
const capital = 0.7227

// width is how wide a text is in parts of the font's size.
func width(style, text string) float64 {
	var b sfnt.Buffer
	f := faces()[style].font
	var sum fixed.Int26_6
	for _, r := range text {
		i, err := f.GlyphIndex(&b, r)
		if err != nil {
			continue
		}
		if a, err := f.GlyphAdvance(&b, i, fixed.I(units), font.HintingNone); err == nil {
			sum += a
		}
	}
	return float64(sum) / 64 / units
}
