package pdf

import (
	"bytes"
	"math"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// Lettering says how words are written.
type Lettering struct {
	Mono   bool // the font of fixed width
	Bold   bool
	Shade  float64 // 0 is black, 1 white
	Height float64 // of capitals, mm
	Angle  float64 // degrees
	// From is which part of the words stands at their place: 0 the beginning, 0.5 the middle, 1 the end.
	From float64
	// Most is how wide the words may be at most, mm; 0 is any. They are narrowed to it.
	Most float64
	// Within is a box outside of which nothing of the words is shown, nil for none.
	Within *orb.Bound
}

func (l Lettering) style() string {
	if l.Mono {
		return mono
	}
	if l.Bold {
		return "B"
	}
	return ""
}

// Width is how wide words are, mm.
func (l Lettering) Width(words string) float64 {
	w := width(l.style(), words) * l.Height / capital
	if l.Most > 0 {
		w = math.Min(w, l.Most)
	}
	return w
}

// Wrap parts words into lines of a width, mm; a word that is wider has a line of its own.
func (l Lettering) Wrap(words string, room float64) []string {
	l.Most = 0
	var out []string
	for _, w := range strings.Fields(words) {
		if n := len(out); n > 0 && l.Width(out[n-1]+" "+w) <= room {
			out[n-1] += " " + w
			continue
		}
		out = append(out, w)
	}
	return out
}

// Text writes words as text, their baseline through a place.
func (d *Document) Text(at orb.Point, l Lettering, words string) {
	words = pattern.Printable(strings.Map(func(r rune) rune {
		if r < ' ' || r > 0xffff { // the library knows no others
			return ' '
		}
		return r
	}, words))
	if strings.TrimSpace(words) == "" {
		return
	}
	d.flush()
	size := l.Height / capital * Points
	family, style := "go", l.style()
	if l.Mono {
		family, style = mono, ""
		if !d.mono {
			d.f.AddUTF8FontFromBytes(mono, "", bytes.Clone(faces()[mono].data))
			d.mono = true
		}
	}
	d.f.SetFont(family, style, size) // before q, since the library believes that the font stays
	d.Op("q")
	if l.Shade > 0 {
		d.Op(strconv.FormatFloat(l.Shade, 'f', 2, 64) + " g")
	}
	if b := l.Within; b != nil {
		d.path(Box(*b))
		d.Op("W n")
	}
	squeeze, wide := 1.0, width(l.style(), words)*l.Height/capital
	if l.Most > 0 && wide > l.Most {
		squeeze = l.Most / wide
	}
	m := geom.Translate(at[0], at[1]).After(geom.Rotate(l.Angle * math.Pi / 180)).After(geom.Scale(squeeze, 1)).After(geom.Translate(-wide*l.From, 0))
	for _, v := range []float64{m.A, m.B, m.C, m.D} {
		d.ops.WriteString(strconv.FormatFloat(v, 'f', 6, 64) + " ")
	}
	d.number(m.E)
	d.number(m.F)
	d.Op("cm")
	d.flush()
	d.f.Text(0, d.high, words)
	d.Op("Q")
}
