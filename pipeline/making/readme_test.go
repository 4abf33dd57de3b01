package making

import (
	"bytes"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/draft/measured"
	"tracewheel/pipeline/job"
)

// pixels are how many of a picture's pixels may differ clearly from the stored ones, in thousandths: sums of
// floats differ in the last place from one kind of computer to the next.
const pixels = 1

// TestReadmePictures: each picture that the README shows stands in testdata as the program draws it now.
// UPDATE=1 draws them anew; look at them before they are committed.
func TestReadmePictures(t *testing.T) {
	maker := New(Sample())
	drawn := map[string][]byte{}
	picture := func(r Request) []byte {
		c, _, err := maker.Picture(t.Context(), r, false, false)
		if err != nil {
			t.Fatal(err)
		}
		data, err := c.PNG(1200)
		if err != nil {
			t.Fatal(err)
		}
		return data
	}
	for _, name := range []string{"ferry-smock", "lamplighter-jacket", "tool-roll"} {
		drawn[name+".png"] = picture(Request{Name: name + ".yaml", Source: samples.Read(name + ".yaml")})
	}
	smock := Request{Name: "ferry-smock.yaml", Source: samples.Read("ferry-smock.yaml"), Device: "roll-plotter"}
	w, err := maker.Make(t.Context(), smock)
	if err != nil || w.Refused {
		t.Fatal(err, w.Reason)
	}
	drawn["plotted.png"] = picture(Request{Name: "ferry-smock.plt", Source: w.Program.Bytes()})
	refused, err := maker.Build(t.Context(), job.Draft{Job: 6, Name: "usher-waistcoat.svg", Device: "roll-plotter", Source: samples.Read("usher-waistcoat.svg")})
	if err != nil {
		t.Fatal(err)
	}
	drawn["refused.png"] = refused.Report["picture.png"]
	drawn["sheets-first.png"], drawn["sheets-joined.png"] = sheetPictures(t)

	readme, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	shown := regexp.MustCompile(`\(testdata/pictures/([^)]*)\)`).FindAllSubmatch(readme, -1)
	var pages []byte
	for _, file := range []string{"../pages/desk_browser_test.go", "../demo/page_browser_test.go", "../demo/progress_browser_test.go"} {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		pages = append(pages, text...)
	}
	shown = slices.DeleteFunc(shown, func(m [][]byte) bool { // what a browser draws, its test keeps with UPDATE=1
		name := string(m[1])
		_, err := os.Stat(filepath.Join("..", "..", "testdata", "pictures", name))
		return err == nil && bytes.Contains(pages, []byte(`.View("`+strings.TrimSuffix(name, ".png")+`")`))
	})
	if len(shown) != len(drawn) {
		t.Errorf("the README shows %d pictures, and %d are drawn", len(shown), len(drawn))
	}
	for _, m := range shown {
		name := string(m[1])
		file := filepath.Join("..", "..", "testdata", "pictures", name)
		if _, ok := drawn[name]; ok && drawn[name] == nil {
			continue // no poppler here
		}
		if drawn[name] == nil {
			t.Errorf("the README shows %s, which this test does not draw", name)
			continue
		}
		if os.Getenv("UPDATE") != "" {
			if err := os.WriteFile(file, drawn[name], 0o644); err != nil {
				t.Fatal(err)
			}
		}
		stored, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if n := differs(t, stored, drawn[name]); n > pixels {
			t.Errorf("%s is not as the program draws it now (%d of 1000 pixels differ): UPDATE=1 go test -run ReadmePictures ./pipeline/making, and look at it", name, n)
		}
	}
}

// differs is how many of 1000 pixels differ clearly, rounded up; all of them where the sizes do.
func differs(t *testing.T, a, b []byte) int {
	t.Helper()
	decode := func(data []byte) image.Image {
		img, err := png.Decode(bytes.NewReader(data))
		if err != nil {
			t.Fatal(err)
		}
		return img
	}
	p, q := decode(a), decode(b)
	if p.Bounds() != q.Bounds() {
		return 1000
	}
	n, all := 0, p.Bounds().Dx()*p.Bounds().Dy()
	for y := range p.Bounds().Dy() {
		for x := range p.Bounds().Dx() {
			r, g, b, _ := p.At(x, y).RGBA()
			r2, g2, b2, _ := q.At(x, y).RGBA()
			const clear = 0x3000
			apart := func(v, w uint32) bool { return v > w+clear || w > v+clear }
			if apart(r, r2) || apart(g, g2) || apart(b, b2) {
				n++
			}
		}
	}
	return (1000*n + all - 1) / all
}

// TestReadmeChalkList: the list to chalk from that the README shows is what the program writes.
func TestReadmeChalkList(t *testing.T) {
	f, err := measured.FiguresOf(samples.Read("ferry-smock.yaml"), "ferry-smock.yaml", measured.Options{})
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := f.Text(&b); err != nil {
		t.Fatal(err)
	}
	_, pocket, _ := strings.Cut(b.String(), "\npocket: ")
	pocket, _, _ = strings.Cut("pocket: "+pocket, "\n\n")
	readme, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(readme), "```\n"+pocket+"\n```") {
		t.Errorf("the README does not show the list as it is now:\n%s", pocket)
	}
}
