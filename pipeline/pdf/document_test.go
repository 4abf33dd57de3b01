package pdf

import (
	"bytes"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// TestSameBytes: a file is the same whichever others were written before it by the same process.
func TestSameBytes(t *testing.T) {
	made := func(words string) []byte {
		data, err := Pages("words", []byte(words), nil)
		if err != nil {
			t.Fatal(err)
		}
		return data
	}
	first := made("allowance, armhole")
	made("quick brown fox: 0123456789")
	for range 20 {
		if !bytes.Equal(made("allowance, armhole"), first) {
			t.Fatal("the same words give other bytes")
		}
	}
}

// TestTitlePlaysWithNoTerminal: readers print a file's title and its layers' names as they stand. Both are UTF-16 of high
// bytes first (ISO 32000-1, 7.9.2.2).
func TestTitlePlaysWithNoTerminal(t *testing.T) {
	const played = "a\x1b[2J\u009b\u202eb"
	d := NewDocument(played)
	d.Page(100, 100, geom.Identity)
	layer := d.AddLayer(played)
	d.Layer([]int{layer}, 1)
	d.Text(orb.Point{10, 10}, Lettering{Height: 3}, "words")
	d.Layer([]int{layer}, 0)
	data, err := d.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	if n := bytes.Count(data, []byte("\x00a\xff\xfd\x00[\x002\x00J\xff\xfd\xff\xfd\x00b")); n < 2 {
		t.Errorf("%d of a title and a layer are there, printable", n)
	}
	for _, raw := range []string{"a\x1b[", "\x00a\x00\x1b"} {
		if bytes.Contains(data, []byte(raw)) {
			t.Errorf("%q is in the file", raw)
		}
	}
}
