package hpgl

import (
	"math"

	"tracewheel/devices"
	"tracewheel/geom"
	"tracewheel/geom/letters"
)

// maxLabel is the longest label in bytes with its terminator: the label buffer of large plotters.
const maxLabel = 150

// safeText keeps what a plotter letters without acting on it: printing ASCII. Every other character becomes a question
// mark.
func safeText(text string) []byte {
	out := make([]byte, 0, len(text))
	for _, r := range text {
		if len(out) == maxLabel-1 {
			break
		}
		if r < ' ' || r > '~' {
			r = '?'
		}
		out = append(out, byte(r))
	}
	return out
}

// widthShare is the width of a letter as a share of its height, the two operands of SI; common practice.
const widthShare = 2.0 / 3

// writeLabel sends words for the device to letter. The pen's place is unknown afterwards, so the next line starts with
// an absolute place, as every block does.
func (e *encoder) writeLabel(pt part) {
	e.flush()
	stroke, piece := e.owner(pt)
	at := e.units(pt.pts[0])
	e.check(pt, pt.pts[0], at)
	along := geom.Sub(pt.pts[1], pt.pts[0])
	cm := pt.label.Height / 10
	text := safeText(pt.label.Text)
	b := devices.Block{Stroke: stroke, Piece: piece, Setup: e.setup, EndsStroke: pt.last}
	b.Bytes = append(appendPair(append(b.Bytes, "PU"...), at), ';')
	b.Bytes = append(b.Bytes, "SI"+decimal(cm*widthShare, 3)+","+decimal(cm, 3)+
		";DI"+decimal(along[0], 4)+","+decimal(along[1], 4)+";LB"...)
	b.Bytes = append(b.Bytes, text...)
	b.Bytes = append(b.Bytes, etx+"PU;"...)
	// About four strokes a letter; common practice.
	b.DrawnMM = float64(len(text)) * pt.label.Height * 3
	b.Seconds = e.timing.Move(geom.Dist(e.at, pt.pts[0])) + float64(len(text))*4*e.timing.Lift
	e.at = pt.pts[0]
	e.block(b)
}

// Strokes draws a label in plain letters, mm on its page, for pictures, since the device's own letters are not known.
// Its origin is taken as the left end of the baseline.
func (l Label) Strokes() []geom.Path {
	put := geom.Translate(l.At[0], l.At[1]).After(geom.Rotate(l.AngleDeg * math.Pi / 180))
	paths, _ := letters.Strokes(l.Text, l.Height)
	for i := range paths {
		paths[i] = paths[i].Apply(put)
	}
	return paths
}
