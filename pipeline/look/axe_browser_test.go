//go:build browser

package look_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"html"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/devices/needs"
	"tracewheel/pipeline/draft/measured"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/making"
)

// found is what axe-core reports of a page at a width.
type found struct {
	Page       string
	Wanted     int // width of the frame, px
	Width      int
	Reach      int // least width of the window that the page needs
	Dark       bool
	Violations []struct {
		ID, Impact, Help string
		Nodes            []struct {
			HTML           string
			FailureSummary string
		}
	}
}

// ask runs in each page, and sends the result to the page that shows it in a frame.
const ask = `addEventListener("load", () => axe.run().then(r => parent.postMessage({Width: innerWidth, Reach: document.documentElement.scrollWidth,
	Dark: matchMedia("(prefers-color-scheme: dark)").matches, Violations: r.violations}, "*")))`

// show puts one frame after another into the window, each once the one before it has answered.
const show = `const told = []
addEventListener("message", e => { told.push(Object.assign(e.data, {Page: frames_[0].name, Wanted: frames_[0].width})); frames_.shift(); next() })
function next() {
	document.body.replaceChildren()
	if (!frames_.length) { const pre = document.createElement("pre"); pre.id = "told"; pre.textContent = JSON.stringify(told); document.body.append(pre); return }
	const f = document.createElement("iframe"); f.width = frames_[0].width; f.height = 800; f.style.border = 0
	f.srcdoc = frames_[0].html.replace("</head>", () => "<script>" + axe_ + ask_ + "</" + "script></head>"); document.body.append(f)
}
next()`

// judge shows pages in Chromium, light or dark, in frames of each width - its own window cannot be narrower than 500
// px - and runs axe-core on each.
func judge(t *testing.T, pages map[string][]byte, dark bool) []found {
	t.Helper()
	axe, err := os.ReadFile("../../.ci/node_modules/axe-core/axe.min.js")
	if err != nil {
		t.Fatalf("axe-core is not there; run npm ci in .ci: %v", err)
	}
	type frame struct {
		Name  string `json:"name"`
		Width int    `json:"width"`
		HTML  string `json:"html"`
	}
	var list []frame
	for _, name := range slices.Sorted(maps.Keys(pages)) {
		for _, width := range []int{360, 1440} {
			list = append(list, frame{name, width, string(pages[name])})
		}
	}
	value := func(v any) []byte { // as JSON, in which no < ends a script
		b, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	outer := fmt.Appendf(nil, "<!doctype html><html><body><script>const frames_ = %s, axe_ = %s, ask_ = %s\n%s</script></body></html>",
		value(list), value(string(axe)), value(ask), show)
	file := filepath.Join(t.TempDir(), "page.html")
	if err := os.WriteFile(file, outer, 0o600); err != nil {
		t.Fatal(err)
	}
	args := []string{"--headless", "--no-sandbox", "--disable-gpu", "--user-data-dir=" + filepath.Join(t.TempDir(), "profile"),
		"--window-size=1600,900", "--virtual-time-budget=600000", "--dump-dom"}
	if dark {
		args = append(args, "--blink-settings=preferredColorScheme=0")
	}
	out, err := exec.Command("chromium", append(args, file)...).Output()
	if err != nil {
		t.Fatal(err)
	}
	told := regexp.MustCompile(`(?s)<pre id="told">(.*)</pre>`).FindSubmatch(out)
	if told == nil {
		t.Fatalf("axe-core said nothing; the page ends %s", out[max(0, len(out)-300):])
	}
	var f []found
	if err := json.Unmarshal([]byte(html.UnescapeString(string(told[1]))), &f); err != nil {
		t.Fatal(err)
	}
	for _, p := range f {
		if p.Dark != dark || p.Width != p.Wanted {
			t.Fatalf("%s was shown %d px wide, dark %v; wanted %d, %v", p.Page, p.Width, p.Dark, p.Wanted, dark)
		}
	}
	if len(f) != len(list) {
		t.Fatalf("%d answers for %d pages", len(f), len(list))
	}
	return f
}

// TestAxe: axe-core (Deque's rules for WCAG and good practice), in Chromium, finds nothing moderate, serious or
// critical on the pages, at the widths of a phone and a desktop, light and dark, and no page is wider than its window.
func TestAxe(t *testing.T) {
	needs.Program(t, "chromium", "chromium")
	pages := map[string][]byte{}
	for _, file := range []string{"ferry-smock.yaml", "lamplighter-jacket.yaml"} {
		f, err := measured.FiguresOf(samples.Read(file), file, measured.Options{})
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if err := f.HTML(&b); err != nil {
			t.Fatal(err)
		}
		pages["figures of "+file] = b.Bytes()
	}
	maker := making.New(making.Sample())
	for _, name := range []string{"usher-waistcoat.svg", "leaf-crown.svg"} {
		device := map[string]string{"usher-waistcoat.svg": "roll-plotter", "leaf-crown.svg": "knife-table"}[name]
		built, err := maker.Build(t.Context(), job.Draft{Job: 7, Name: name, Device: device, Source: samples.Read(name)})
		if err != nil {
			t.Fatal(err)
		}
		if p := built.Report["report.html"]; p != nil {
			pages["report on "+name] = p
		}
		if p := built.Pictures["cards.html"]; p != nil {
			pages["cards of "+name] = p
		}
	}
	if len(pages) < 4 {
		t.Fatalf("only %d pages to judge", len(pages))
	}
	for _, dark := range []bool{false, true} {
		for _, f := range judge(t, pages, dark) {
			where := fmt.Sprintf("%s, %d px, dark %v", f.Page, f.Width, dark)
			if f.Reach > f.Width {
				t.Errorf("%s: the page needs %d px", where, f.Reach)
			}
			for _, v := range f.Violations {
				if v.Impact != "minor" && v.Impact != "" {
					t.Errorf("%s: %s (%s) %s: %.200s: %s", where, v.ID, v.Impact, v.Help, v.Nodes[0].HTML, v.Nodes[0].FailureSummary)
				}
			}
		}
	}
}

// TestAxeSees: axe-core works here: it finds pale text, a picture without a name and a missing language.
func TestAxeSees(t *testing.T) {
	needs.Program(t, "chromium", "chromium")
	page := []byte(`<html><head><title>x</title></head><body><main><h1>x</h1><p style="color:#bbb;background:#fff">pale</p><svg role="img"></svg></main></body></html>`)
	for _, f := range judge(t, map[string][]byte{"bad": page}, false) {
		var ids []string
		for _, v := range f.Violations {
			ids = append(ids, v.ID)
		}
		for _, want := range []string{"color-contrast", "svg-img-alt", "html-has-lang"} {
			if !slices.Contains(ids, want) {
				t.Errorf("%d px: %s was not found among %v", f.Width, want, ids)
			}
		}
	}
}
