package picture

import (
	"bytes"
	"fmt"
	"html"
	"strings"

	"tracewheel/pipeline/look"
	"tracewheel/pipeline/pattern"
)

// Over says what is drawn over a picture of a job.
type Over struct {
	// Progress tells strokes that are made from those to come: Sure is the last stroke, counted from 0, that surely is
	// made, and Sent the last one of which anything was sent, -1 for none.
	Progress   bool
	Sure, Sent int
	// Lost is true where it is not known how far the job was sent, and so not where the tool is.
	Lost bool
	// Finding is the number of the finding to be ringed, 0 for none.
	Finding int
	// Small is true for a small picture: lines and ring are thicker, and pieces cannot be pointed at.
	Small bool
}

// stretches bounds the number of lines in which a job's strokes are drawn. With more strokes several share a line,
// which counts as made only when all of it is.
const stretches = 5000

// Over draws a transparent picture to lay over the picture: strokes that surely are made in thick lines, those that
// are sent dashed, those to come not at all. A ring marks the beginning of the stroke that was sent last - the tool is
// there or before it - and another a finding. The pieces' outlines can be pointed at.
func (s *Shown) Over(o Over) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %s %s" width="%s" height="%s" class="over" aria-hidden="true">`+"\n<style>%s</style>\n",
		num(s.Wide), num(s.High), num(s.Wide), num(s.High), look.DarkSVG())
	if o.Progress {
		s.progress(&b, o)
	}
	for _, p := range s.Pieces {
		if o.Small {
			break
		}
		fmt.Fprintf(&b, `<path class="piece" data-number="%d" fill="none" d="%s"><title>%d %s</title></path>`+"\n", p.Number, p.D, p.Number, html.EscapeString(pattern.Printable(p.Name)))
	}
	if at, is := s.Findings[o.Finding]; is {
		fmt.Fprintf(&b, `<circle class="place" cx="%s" cy="%s" r="30" fill="none" stroke="%s" stroke-width="4"/>`+"\n", num(at[0]), num(at[1]), look.Hex(look.Crimson.Light))
	}
	b.WriteString("</svg>\n")
	return b.Bytes()
}

// smallOver is the number of line units to the width of a small picture.
const smallOver = 200

// inkOver is the ink of strokes by their progress, with lines thicker by a factor.
func inkOver(far string, times float64) string {
	switch far {
	case "drawn":
		return fmt.Sprintf(` stroke="%s" stroke-width="%s" stroke-linecap="round"`, look.Hex(look.Chalk.Light), num(4.5*times))
	case "sent":
		return fmt.Sprintf(` stroke="%s" stroke-width="%s" stroke-dasharray="%s %s"`, look.Hex(look.Amber.Light), num(3*times), num(5*times), num(5*times))
	}
	return ""
}

func (s *Shown) progress(b *bytes.Buffer, o Over) {
	times := 1.0
	if o.Small {
		times = max(1, s.Wide/smallOver)
	}
	each := (len(s.Strokes) + stretches - 1) / stretches
	for from := 0; from < len(s.Strokes); from += each {
		to := min(from+each, len(s.Strokes)) - 1
		far := "come"
		if to <= o.Sure {
			far = "drawn"
		} else if from <= o.Sent {
			far = "sent"
		}
		fmt.Fprintf(b, `<path class="%s" data-from="%d" data-to="%d" fill="none"%s d="%s"/>`+"\n", far, from, to, inkOver(far, times), strings.Join(s.Strokes[from:to+1], ""))
	}
	if x, y, is := s.begins(min(o.Sent, len(s.Strokes)-1)); is && !o.Lost && o.Sure < len(s.Strokes)-1 {
		ink := look.Hex(look.Crimson.Light)
		fmt.Fprintf(b, `<g class="tool" transform="translate(%s %s)"><circle r="%s" fill="none" stroke="%s" stroke-width="%s"/><circle r="%s" fill="%s"/></g>`+"\n", x, y, num(10*times), ink, num(3*times), num(2.5*times), ink)
	}
}

// begins is the start of a stroke; is is false where there is no such stroke.
func (s *Shown) begins(stroke int) (x, y string, is bool) {
	if stroke < 0 || stroke >= len(s.Strokes) || s.Strokes[stroke] == "" {
		return "", "", false
	}
	words := strings.FieldsFunc(s.Strokes[stroke], func(r rune) bool { return strings.ContainsRune("MLZ ", r) })
	if len(words) < 2 {
		return "", "", false
	}
	return words[0], words[1], true
}
