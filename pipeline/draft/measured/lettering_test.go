package measured

import (
	"html"
	"regexp"
	"strconv"
	"testing"

	"github.com/paulmach/orb"
	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"

	"tracewheel/pipeline/draft/measured/figures"
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

// In the large picture of each piece of each starter, for each of the eight bodies, no word stands on another or beyond
// the picture's edge. Words are measured in fonts that the program does not know, at the heights of the page's style.
func TestLetteringsStandFree(t *testing.T) {
	faces := map[string]font.Face{}
	for class, f := range map[string]struct {
		ttf  []byte
		high float64
	}{"word": {goregular.TTF, 10}, "length": {gobold.TTF, 11}} {
		parsed, err := opentype.Parse(f.ttf)
		if err != nil {
			t.Fatal(err)
		}
		if faces[class], err = opentype.NewFace(parsed, &opentype.FaceOptions{Size: f.high, DPI: 72}); err != nil {
			t.Fatal(err)
		}
	}
	seen := 0
	for _, r := range recipes {
		for i := range len(eight) {
			e, err := r.drawn(t, eight[i])
			if err != nil {
				continue // TestStarterRecipes says for which bodies a starter is refused
			}
			for _, p := range figures.Of(e).Pieces {
				svg := string(p.Drawing())
				boxes, texts := letterings(t, svg, faces)
				seen += len(boxes)
				size := regexp.MustCompile(`viewBox="0 0 (\d+) (\d+)"`).FindStringSubmatch(svg)
				wide, _ := strconv.ParseFloat(size[1], 64)
				high, _ := strconv.ParseFloat(size[2], 64)
				for k, b := range boxes {
					if b.Min[0] < 0 || b.Min[1] < 0 || b.Max[0] > wide || b.Max[1] > high {
						t.Errorf("%s for %c, %s: %q stands at %v, beyond the picture of %v by %v", r.file, eight[i], p.Name, texts[k], b, wide, high)
					}
					for n := range k {
						if o := boxes[n]; b.Min[0] < o.Max[0] && o.Min[0] < b.Max[0] && b.Min[1] < o.Max[1] && o.Min[1] < b.Max[1] {
							t.Errorf("%s for %c, %s: %q stands on %q", r.file, eight[i], p.Name, texts[k], texts[n])
						}
					}
				}
			}
		}
	}
	if seen < 9000 {
		t.Errorf("only %d letterings", seen)
	}
}
