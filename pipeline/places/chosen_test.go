package places

import (
	"errors"
	"testing"

	"tracewheel/devices"
)

// TestChosen: numbers and spans of them, of a job of chosen pieces as the whole counts them.
func TestChosen(t *testing.T) {
	for _, c := range []struct {
		text, before string
		n            int
		want         string
		err          error
	}{
		{"3-5,8", "", 8, "3,4,5,8", nil},
		{" 2 , 1-2", "", 3, "1,2", nil},
		{"2", "3,4,8", 3, "4", nil},
		{"1-3", "3,4,8", 3, "3,4,8", nil},
		{"3", "3,4", 2, "", ErrNoPiece},
		{"0", "", 2, "", ErrNoPiece},
		{"5-3", "", 8, "", ErrChoice},
		{"", "", 8, "", ErrChoice},
		{"front", "", 8, "", ErrChoice},
		{"1-99999999999", "", 8, "", ErrNoPiece},
	} {
		if got, err := Chosen(c.text, c.n, c.before); got != c.want || !errors.Is(err, c.err) {
			t.Errorf("%q of %d after %q: %q, %v", c.text, c.n, c.before, got, err)
		}
	}
}

// TestCalled: chosen pieces by number and name, those of a program without names by number.
func TestCalled(t *testing.T) {
	p := devices.Program{Names: []string{"front", "", "back"}}
	for text, want := range map[string]string{"3,1": "1 (front), 3 (back)", "1-3": "1 (front), 2, 3 (back)", "4": "4"} {
		if got := Called(p.Names, text); got != want {
			t.Errorf("%s: %q instead of %q", text, got, want)
		}
	}
}

// TestNumbered: neighbours of one name stand together, and one without a name is told by its number.
func TestNumbered(t *testing.T) {
	for want, names := range map[string][]string{
		"1-2 (pocket), 3 (strap)":       {"pocket", "pocket", "strap"},
		"1 (strap), 2 (tie), 3 (strap)": {"strap", "tie", "strap"},
		"1, 2-3 (strap)":                {"", "strap", "strap"},
		"":                              nil,
	} {
		if got := Numbered(names); got != want {
			t.Errorf("%q: %s, want %s", names, got, want)
		}
	}
}
