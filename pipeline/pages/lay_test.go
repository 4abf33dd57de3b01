package pages_test

import (
	"bytes"
	"fmt"
	"math"
	"mime/multipart"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
)

// dropAll drops drafts onto the page.
func (r *shown) dropAll(device, as, ticket string, names ...string) (int, string) {
	r.t.Helper()
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	for name, text := range map[string]string{"device": device, "as": as, "ticket": ticket} {
		_ = form.WriteField(name, text) // into memory, as all of it
	}
	for _, name := range names {
		part, _ := form.CreateFormFile("draft", name)
		_, _ = part.Write(samples.Read(name))
	}
	_ = form.Close()
	return r.said(r.browser.Post(r.address+"/drop", form.FormDataContentType(), &body))
}

// section is a page's part under a heading of an id, up to the next section's end.
func section(page, id string) string {
	_, part, _ := strings.Cut(page, `aria-labelledby="`+id+`"`)
	part, _, _ = strings.Cut(part, "</section>")
	return part
}

var (
	laidRow = regexp.MustCompile(`<th scope="row">Laid</th><td>([^,]*), `)
	image   = regexp.MustCompile(`<img src="([^"]*lay/picture[^"]*)"`)
	width   = regexp.MustCompile(`<th scope="row">How it lies</th><td>([^;,]*) wide`)
	bed     = regexp.MustCompile(`<path fill="[^"]*" d="M([0-9.]+) ([0-9.]+)L([0-9.]+) ([0-9.]+)L([0-9.]+) ([0-9.]+)`)
)

// mmOf reads a length that a page tells.
func mmOf(t *testing.T, said string) float64 {
	t.Helper()
	mm, err := pattern.ParseLength(strings.ReplaceAll(said, " in", "in"))
	if err != nil {
		t.Fatal(err)
	}
	return mm
}

// longIn is how long the cloth of a picture is that is so wide, by the corners of what is drawn of it.
func longIn(t *testing.T, svg string, wide float64) float64 {
	t.Helper()
	m := bed.FindStringSubmatch(svg)
	if m == nil {
		t.Fatalf("no cloth in the picture %.300s", svg)
	}
	var at [6]float64
	for i := range at {
		at[i], _ = strconv.ParseFloat(m[i+1], 64) // digits
	}
	return wide * math.Hypot(at[2]-at[0], at[3]-at[1]) / math.Hypot(at[4]-at[2], at[5]-at[3])
}

// TestLayPage: a job's lays are shown with their pictures, and each picture tells the length that the page tells; the sum is
// that of the lay that the job keeps. A drawing on a cutter has that lay alone; a measured draft beside it the cloth that
// it names, by the draft's own rules.
func TestLayPage(t *testing.T) {
	for _, units := range []string{"mm", "in"} {
		r := newShown(t, strings.NewReplacer("units: mm", "units: "+units))
		if status, page := r.dropAll("knife-table", "one", "", "section-cap.yaml", "leaf-crown.svg"); status != http.StatusOK {
			t.Fatalf("%d %s", status, page)
		}
		j := r.until(1, "held", func(j ledger.Job) bool { return j.State == ledger.Held && j.Ready })
		status, page := r.get("/job/1/lay")
		if status != http.StatusOK {
			t.Fatalf("%d %s", status, page)
		}
		machine := section(page, "machine")
		for _, want := range []string{"Its sum begins <code>" + j.Lay[:12] + "</code>", "Seek a better lay for", "in one layer", "<td>Leaf crown</td>", "To buy at other widths"} {
			if !strings.Contains(machine, want) {
				t.Errorf("%s: the machine's lay does not say %q:\n%s", units, want, machine)
			}
		}
		if !strings.Contains(page, "Garments: ") {
			t.Errorf("%s: no garments are named", units)
		}
		_, tried := r.get("/job/1/lay?" + url.Values{"width": {map[string]string{"mm": "1400", "in": "55"}[units]}}.Encode())
		if part := section(tried, "tried"); !strings.Contains(part, "To buy") || !strings.Contains(part, map[string]string{"mm": "1400 mm wide", "in": "55 in wide"}[units]) {
			t.Errorf("%s: tried is\n%s", units, part)
		}
		for _, p := range []string{page, tried} {
			lengths, widths, pictures := laidRow.FindAllStringSubmatch(p, -1), width.FindAllStringSubmatch(p, -1), image.FindAllStringSubmatch(p, -1)
			if len(lengths) == 0 || len(lengths) != len(pictures) || len(widths) != len(pictures) {
				t.Fatalf("%s: %d lengths and %d pictures", units, len(lengths), len(pictures))
			}
			for i, of := range pictures {
				status, svg := r.get(strings.ReplaceAll(of[1], "&amp;", "&"))
				if want := mmOf(t, lengths[i][1]); status != http.StatusOK || math.Abs(longIn(t, svg, mmOf(t, widths[i][1]))-want) > 1 {
					t.Errorf("%s: %s, %d: drawn %.1f mm long, and the page says %.1f", units, of[1], status, longIn(t, svg, mmOf(t, widths[i][1])), want)
				}
			}
		}
		if after := r.until(1, "held", func(ledger.Job) bool { return true }); after.Lay != j.Lay || after.State != j.State {
			t.Errorf("the job changed from %+v to %+v", j, after)
		}
		for form, want := range map[string]string{"width=nonsense": "width:", "width=-3": "width:", "width=1e9": "width:", "material=paper": "no cloth", "material=%3Cb%3E": "no cloth", "width=50&cloth=99": "cloth:", "cloth=1": "say a width"} {
			if status, p := r.get("/job/1/lay?" + form); status != http.StatusOK || !strings.Contains(p, `role="alert">`) || !strings.Contains(p, want) || section(p, "tried") != "" {
				t.Errorf("%s: %s: %d without %q", units, form, status, want)
			}
		}
		for _, path := range []string{"of=0", "of=99", "of=x", "", "of=1&width=nonsense"} {
			if status, _ := r.get("/job/1/lay/picture?" + path); status == http.StatusOK {
				t.Errorf("%s: there is a picture %q", units, path)
			}
		}
	}
}

// TestClothsKeepTheirOwnRules: two drafts that name a cloth alike and say otherwise of it are each laid by their own words.
func TestClothsKeepTheirOwnRules(t *testing.T) {
	r := newShown(t, nil)
	skirt := string(samples.Read("half-circle-skirt.yaml"))
	said := func(width, more string) string {
		return regexp.MustCompile(`(?m)^cloth:(.*\n)(  .*\n)*`).ReplaceAllString(skirt, "") + "\ncloth:\n  main: " + width + " wide" + more + "\n"
	}
	dir := filepath.Join(r.dir, "inbox", "roll-plotter")
	for _, f := range [][2]string{{"a.yaml.ticket.yaml", "with: [b.yaml]\n"}, {"b.yaml", said("130", ", one way, quarter turns")}, {"a.yaml", said("150", ", folded once")}} {
		if err := os.WriteFile(filepath.Join(dir, f[0]), []byte(f[1]), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	r.until(1, "made", func(j ledger.Job) bool { return j.Ready || j.State.Ended() })
	_, page := r.get("/job/1/lay")
	cloths := strings.Split(section(page, "cloths"), `<div class="sheet">`)
	if len(cloths) != 3 {
		t.Fatalf("%d cloths:\n%s", len(cloths)-1, page)
	}
	for i, want := range [][]string{{"150 cm wide", "folded once", "no nap", "grain lines lie along"}, {"130 cm wide", "all pieces lie one way", "quarter turns: "}} {
		for _, w := range want {
			if !strings.Contains(cloths[i+1], w) {
				t.Errorf("cloth %d does not say %q:\n%s", i+1, w, cloths[i+1])
			}
		}
	}
}

// TestBetterLayOnAPage: the button of the lay page has a better lay sought; a page that knows an older event does nothing.
func TestBetterLayOnAPage(t *testing.T) {
	r := newShown(t, nil)
	r.drop("knife-table", "smock.yaml", samples.Read("ferry-smock.yaml"), "")
	r.until(1, "held", func(j ledger.Job) bool { return j.State == ledger.Held && j.Ready })
	last, err := r.shop.Jobs().LastEvent(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if status, _ := r.post("/job/1/better", url.Values{"seen": {itoa(last - 1)}, "seconds": {"1"}}); status != http.StatusConflict {
		t.Errorf("an old page: %d", status)
	}
	if status, said := r.post("/job/1/better", url.Values{"seen": {itoa(last)}, "seconds": {"100000"}}); status != http.StatusConflict || !strings.Contains(said, "1 s to 1h") {
		t.Errorf("for a day: %d %s", status, said)
	}
	status, page := r.post("/job/1/better", url.Values{"seen": {itoa(last)}, "seconds": {"2"}})
	if status != http.StatusOK || !strings.Contains(page, "data-seeks") || strings.Contains(page, "Seek it") {
		t.Errorf("%d %s", status, section(page, "machine"))
	}
	r.until(1, "sought", func(ledger.Job) bool {
		events, err := r.shop.Jobs().Events(t.Context(), 1)
		return err == nil && strings.HasSuffix(events[len(events)-1].Kind, "better lay") || fmt.Sprint(events[len(events)-1].Kind) == "ready"
	})
	if _, page := r.get("/job/1/lay"); strings.Contains(page, "data-seeks") {
		t.Errorf("the search has ended:\n%s", section(page, "machine"))
	}
}

// TestNumbersOnAPage: the job's page has its measured draft's numbers, girths and seams as tables, in the draft's unit;
// of a drawing it has none.
func TestNumbersOnAPage(t *testing.T) {
	r := newShown(t, nil)
	r.drop("roll-plotter", "smock.yaml", samples.Read("ferry-smock.yaml"), "")
	r.until(1, "made", func(j ledger.Job) bool { return j.Ready })
	r.drop("roll-plotter", "apron.svg", samples.Read("stagehand-apron.svg"), "")
	r.until(2, "made", func(j ledger.Job) bool { return j.Ready })
	_, page := r.get("/job/1")
	for _, want := range []string{"<caption>Numbers", "<caption>Girths, in ", "<caption>Seams sewn together, in ", `<a href="/job/1/lay">`} {
		if !strings.Contains(page, want) {
			t.Errorf("the page does not say %q:\n%s", want, page)
		}
	}
	if _, page := r.get("/job/2"); strings.Contains(page, "<caption>Numbers") {
		t.Error("a drawing has numbers")
	}
}
