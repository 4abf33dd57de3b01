package measured

import (
	"fmt"
	"html"
	"html/template"
	"regexp"
	"strconv"
	"testing"

	"github.com/paulmach/orb"
	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"

	"tracewheel/pipeline/draft/measured/figures"
	"tracewheel/pipeline/draft/measured/wearers"
)

var lettered = regexp.MustCompile(`<text class="(\w+)[^"]*" text-anchor="(\w+)" x="(-?[\d.]+)" y="(-?[\d.]+)">([^<]*)</text>`)

// letterings are the boxes of all words in a large picture, measured in the Go fonts, with the words.
func letterings(t *testing.T, svg string, faces map[string]font.Face) (boxes []orb.Bound, texts []string) {
	t.Helper()
	for _, m := range lettered.FindAllStringSubmatch(svg, -1) {
		text := html.UnescapeString(m[5])
		in, across := font.BoundString(faces[m[1]], text)
		x, err := strconv.ParseFloat(m[3], 64)
		y, err2 := strconv.ParseFloat(m[4], 64)
		if err != nil || err2 != nil {
			t.Fatal(m)
		}
		switch wide := float64(across) / 64; m[2] {
		case "middle":
			x -= wide / 2
		case "end":
			x -= wide
		}
		boxes = append(boxes, orb.Bound{Min: orb.Point{x + float64(in.Min.X)/64, y + float64(in.Min.Y)/64}, Max: orb.Point{x + float64(in.Max.X)/64, y + float64(in.Max.Y)/64}})
		texts = append(texts, text)
	}
	return boxes, texts
}

// In the large picture of each piece of each starter, for each of the eight bodies, and in that for a phone, no word stands on
// another or beyond the picture's edge. Words are measured in fonts that the program does not know, at the heights of the
// pages' styles.
func TestLetteringsStandFree(t *testing.T) {
	for _, size := range []struct {
		name         string
		word, length float64
		draw         func(figures.PieceFigures) template.HTML
		least        int
	}{
		{"on paper", 10, 11, figures.PieceFigures.Drawing, 9000},
		{"on a phone", 12, 13, figures.PieceFigures.SmallDrawing, 8000},
	} {
		t.Run(size.name, func(t *testing.T) {
			faces := map[string]font.Face{"word": face(t, goregular.TTF, size.word), "length": face(t, gobold.TTF, size.length)}
			seen := 0
			for _, r := range recipes {
				for i := range len(wearers.Eight) {
					e, err := r.drawn(t, wearers.Eight[i])
					if err != nil {
						continue // TestStarterRecipes says for which bodies a starter is refused
					}
					for _, p := range figures.Of(e).Pieces {
						seen += standFree(t, fmt.Sprintf("%s for %c, %s", r.file, wearers.Eight[i], p.Name), string(size.draw(p)), faces)
					}
				}
			}
			if seen < size.least {
				t.Errorf("only %d letterings", seen)
			}
		})
	}
}

// face is a font at a height.
func face(t *testing.T, ttf []byte, high float64) font.Face {
	t.Helper()
	parsed, err := opentype.Parse(ttf)
	if err != nil {
		t.Fatal(err)
	}
	out, err := opentype.NewFace(parsed, &opentype.FaceOptions{Size: high, DPI: 72})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// standFree looks whether the words of a picture stand free, and counts them.
func standFree(t *testing.T, name, svg string, faces map[string]font.Face) int {
	t.Helper()
	boxes, texts := letterings(t, svg, faces)
	size := regexp.MustCompile(`viewBox="0 0 (\d+) (\d+)"`).FindStringSubmatch(svg)
	wide, _ := strconv.ParseFloat(size[1], 64)
	high, _ := strconv.ParseFloat(size[2], 64)
	for k, b := range boxes {
		if b.Min[0] < 0 || b.Min[1] < 0 || b.Max[0] > wide || b.Max[1] > high {
			t.Errorf("%s: %q stands at %v, beyond the picture of %v by %v", name, texts[k], b, wide, high)
		}
		for n := range k {
			if o := boxes[n]; b.Min[0] < o.Max[0] && o.Min[0] < b.Max[0] && b.Min[1] < o.Max[1] && o.Min[1] < b.Max[1] {
				t.Errorf("%s: %q stands on %q", name, texts[k], texts[n])
			}
		}
	}
	return len(boxes)
}
