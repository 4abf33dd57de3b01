package lay

import (
	"math"
	"strconv"
	"strings"
	"testing"
)

// TestToldAddsUp: the printed lengths add up: the laid length and both ends as printed, rounded up to the shop's step,
// are the printed length to buy. 65 1/8 in and twice 1 1/4 in are 67 5/8 in, more than 1 7/8 yd (67 1/2 in): 2 yd, of
// 36 in each.
func TestToldAddsUp(t *testing.T) {
	told := func(words string) (v float64) {
		for _, w := range strings.Fields(words) {
			if top, below, ok := strings.Cut(w, "/"); ok {
				a, _ := strconv.ParseFloat(top, 64)
				b, _ := strconv.ParseFloat(below, 64)
				v += a / b
			} else if f, err := strconv.ParseFloat(w, 64); err == nil {
				v += f
			}
		}
		return v
	}
	for unit, c := range map[string]struct{ perBought, step float64 }{"in": {36, 36.0 / 8}, "cm": {100, 10}, "mm": {1000, 100}} {
		shop := ShopFor(unit, 0, 0, 0)
		for laid := 201.3; laid < 4000; laid += 7.37 {
			need := told(Laid(laid, unit)) + 2*told(Laid(shop.Ends, unit))
			want := math.Ceil(need/c.step-1e-9) * c.step
			if got := told(Bought(shop.ToBuy(laid), unit)) * c.perBought; math.Abs(got-want) > 1e-6 {
				t.Errorf("%s laid, to buy %v %s, and what is told adds up to %v", Laid(laid, unit), got, unit, want)
			}
			within := shop.Within(shop.ToBuy(laid))
			if within < laid-1e-6 || shop.ToBuy(within) != shop.ToBuy(laid) || shop.ToBuy(within+2) == shop.ToBuy(laid) && unit == "mm" {
				t.Errorf("%v mm laid: within %v mm no more is bought", laid, within)
			}
		}
	}
	if got := Bought(ShopFor("in", 0, 0, 0).ToBuy(65.1*25.4), "in"); got != "2 yd" {
		t.Errorf("65 1/8 in laid: %s to buy", got)
	}
}
