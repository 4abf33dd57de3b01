package cardtext

import (
	"strconv"
	"testing"

	yaml "go.yaml.in/yaml/v4"
	"pgregory.net/rapid"
)

// TestValueIsReplacedWhole: whatever number a card has for a measure, with a decimal comma too, and between { and } where YAML
// parts it at the comma, another one replaces the whole of it; the words behind it stay. A general YAML reader judges.
func TestValueIsReplacedWhole(t *testing.T) {
	figure := rapid.SampledFrom([]string{"9", "10.5", "9,5", "104,25", "34 3/16", "8½", "92 cm", "1,000,000", ".5"})
	rapid.Check(t, func(t *rapid.T) {
		old, now, words := figure.Draw(t, "old"), figure.Draw(t, "new"), rapid.SampledFrom([]string{"", ", from the neck point", ", low, 3,5 down", ", 3 down"}).Draw(t, "words")
		value := Quote(old + words)
		if rapid.Bool().Draw(t, "plain") && words == "" {
			value = old
		}
		card := "unit: cm\nmeasures:\n  shoulder: " + value + "\n  waist: 70\n"
		if rapid.Bool().Draw(t, "flow") {
			card = "unit: cm\nmeasures: {shoulder: " + value + ", waist: 70}\n"
			if value == "1,000,000" {
				return // two keys of one name, which no reader takes
			}
		}
		if got, _ := Measures([]byte(card)); got["shoulder"] != old+words || len(got) != 2 {
			t.Fatalf("of %q is read %q", card, got)
		}
		if got := Number(old + words); got != old {
			t.Fatalf("the number of %q is %q", old+words, got)
		}
		text, err := Write([]byte(card), "", "cm", map[string]string{"shoulder": now})
		if err != nil {
			t.Fatal(err)
		}
		var kept struct {
			Measures map[string]string `yaml:"measures"`
		}
		if err := yaml.Unmarshal(text, &kept); err != nil || len(kept.Measures) != 2 || kept.Measures["shoulder"] != now+words || kept.Measures["waist"] != "70" {
			t.Fatalf("%q with %q: %q %v", card, now, text, err)
		}
	})
}

// TestAmountIsOneLength: what a fitting changes is one length from its first sign to its last; strconv judges the plain ones.
func TestAmountIsOneLength(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		said := rapid.StringMatching(`[0-9.]{1,5}`).Draw(t, "said")
		_, err := strconv.ParseFloat(said, 64)
		if got, want := IsAmount(said+" more"), err == nil; got != want {
			t.Fatalf("%q: %v, want %v", said, got, want)
		}
	})
	for _, said := range []string{"1/ more", "1 2 more", "1.2.3 less", "1/0 more", "1,5 less", "1/2 1/2 more"} {
		if IsAmount(said) {
			t.Errorf("%q is taken for an amount", said)
		}
	}
	if !IsAmount("1 1/2 in less") {
		t.Error("an amount is refused")
	}
}
