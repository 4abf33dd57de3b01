package desk

import (
	"errors"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"tracewheel/config/samples"
)

// TestLastValue: beside a field is the value that the card had before, with the day on which it was taken, where it
// differs; and what a fitting changed.
func TestLastValue(t *testing.T) {
	v := visit(t)
	cards := v.room.Path("cards")
	file := filepath.Join(cards, "harbour 1.yaml")
	write := func(file, text string) {
		t.Helper()
		if err := errors.Join(os.MkdirAll(filepath.Dir(file), 0o700), os.WriteFile(file, []byte(text), 0o600)); err != nil {
			t.Fatal(err)
		}
	}
	now := "unit: cm\nmeasures:\n  bust: 90, at the fullest\n  hip: 98\n  across front: 33\n  head: 57\ntaken: 2024-11-02\n"
	write(file, now)
	old := filepath.Join(cards, ".versions")
	write(filepath.Join(old, "harbour 1 20241102-101500.000.yaml"), "unit: cm\nmeasures:\n  bust: 88\n  hip: 98\ntaken: 2024-10-12\n")
	write(filepath.Join(old, "harbour 1 20241001-101500.000.yaml"), "unit: cm\nmeasures:\n  bust: 86\n  hip: 97\n  head: 57\n")
	write(filepath.Join(old, "harbour 12 20241101-101500.000.yaml"), "unit: cm\nmeasures:\n  bust: 70\ntaken: 2024-10-31\n") // another wearer's
	write(filepath.Join(v.drafts, "smock.yaml"), string(samples.Read("ferry-smock.yaml")))
	status, text := v.get("/desk/draft/smock?body=harbour+1")
	for _, says := range []string{"was 88 on 12 October 2024<", "was 97 on 1 October 2024<"} {
		if !strings.Contains(text, `class="last">`+says) {
			t.Errorf("%d: the page never says %q", status, says)
		}
	}
	if n := strings.Count(text, `class="last"`); n != 2 {
		t.Errorf("%d last values; nothing but bust and hip was otherwise", n)
	}
	if !regexp.MustCompile(`aria-describedby="s\d+ l\d+ h\d+ h-write"`).MatchString(text) {
		t.Error("a field is not described by its last value")
	}
	write(filepath.Join(old, "harbour 1 20241102-111500.000.yaml"), "unit: in\nmeasures: {bust: 34 1/2}\ntaken: 2024-11-01\n")
	if _, text = v.get("/desk/draft/smock?body=harbour+1"); !strings.Contains(text, `class="last">was 34 1/2 in on 1 November 2024<`) {
		t.Error("inches stand beside a field in cm without their unit")
	}

	// A card that does not say when it was taken has the day of its file; a fitting says what it changed.
	write(file, "unit: cm\nmeasures: {bust: 90}\nchanges:\n  2024-11-20: {bust: 0.6 more}\n")
	if err := os.RemoveAll(old); err != nil {
		t.Fatal(err)
	}
	_, text = v.get("/desk/draft/smock?body=harbour+1")
	if says := `class="last">` + "0.6 more at the fitting of 20 November 2024; 90 &#43; 0.6 by fittings = 90.6<"; !strings.Contains(text, says) {
		_, said, _ := strings.Cut(text, `class="last">`)
		t.Errorf("it says %.80s, not %q", said, says)
	}
	if _, text = v.get("/desk/draft/smock?body=A"); strings.Contains(text, `class="last"`) {
		t.Error("a body of the draft has a last value, and no card")
	}
}
