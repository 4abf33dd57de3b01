package desk

import (
	"path/filepath"
	"strings"
	"testing"

	yaml "go.yaml.in/yaml/v4"

	"tracewheel/config/samples"
	"tracewheel/pipeline/desk/sharing"
)

// TestSharedHoweverSpelt: YAML 1.2 (sections 5.4, 5.2, 7.3, 7.4, 8.2) lets one key be written in many ways; in none is
// the wearer's name, card or measure shared. A general YAML reader finds the rest unchanged.
func TestSharedHoweverSpelt(t *testing.T) {
	const rest = "style: S\nunit: cm\nbodies: {A: {bust: 90}}\n# how deep\nnumbers:\n  deep: 12 # cm\n"
	for name, text := range map[string]string{
		"quoted":               "\"wearer\": Mrs Wren\n'card': wren\n" + rest,
		"escaped":              "\"\\x77earer\": Mrs Wren\n\"c\\u0061rd\": wren\n" + rest,
		"capital":              "Wearer: Mrs Wren\nCARD: wren\n" + rest,
		"a space":              "wearer : Mrs Wren\ncard\t: wren\n" + rest,
		"indented":             " wearer: Mrs Wren\n card: wren\n " + strings.ReplaceAll(strings.TrimSuffix(rest, "\n"), "\n", "\n ") + "\n",
		"byte order mark":      "\ufeffwearer: Mrs Wren\n" + rest,
		"CR LF":                strings.ReplaceAll("style: S\nwearer: Mrs Wren\n"+rest[9:], "\n", "\r\n"),
		"CR":                   strings.ReplaceAll("style: S\nwearer: Mrs Wren\n"+rest[9:], "\n", "\r"),
		"a key with a mark":    "? wearer\n: Mrs Wren\n" + rest,
		"behind a beginning":   "--- \nwearer: Mrs Wren\n" + rest,
		"on the beginning":     "--- {wearer: Mrs Wren, card: wren, style: S, unit: cm, bodies: {A: {bust: 90}}, numbers: {deep: 12}}\n",
		"one line":             "{style: S, \"wearer\":Mrs Wren, card: wren, unit: cm, bodies: {A: {bust: 90}}, numbers: {deep: 12}}",
		"in braces":            "{\n  style: S, wearer: Mrs Wren,\n  unit: cm, bodies: {A: {bust: 90}}, numbers: {deep: 12}, card: wren\n}\n",
		"on more lines":        "wearer: \"Mrs\n# Wren\"\ncard: >-\n  wren\n\n  wren\n" + rest,
		"twice":                "wearer: Mrs Wren\n" + rest + "wearer: Mrs Wren\n",
		"at the end":           rest + "card: wren # Mrs Wren",
		"a tag":                "!!str wearer: !!str Mrs Wren\n" + rest,
		"measures":             "body:\n# bust 101.5 today\n  bust: 101.5\n\n  hip: 101.5\n  # waist 101.5\n" + rest,
		"measures at the edge": "body: {bust: 101.5,\n  hip: 101.5}\n" + rest,
		"comments above":       "style: S\n# Anna Wren\n# bust 101.5\ncard: wren\n# Wren\nwearer: Mrs Wren\n" + rest[9:],
		"a comment, indented":  rest + "  # bust 101.5\nbody: wren\n",
		"above the first key":  "# Anna Wren, 101.5\ncard: wren\n" + rest,
		"far above":            "# for Anna Wren\n# and her 101.5\n\ncard: wren\n" + rest,
		"behind":               "style: S # Anna Wren, 101.5\nwearer: Mrs Wren\ncard: wren\n" + rest[9:],
		"a card as body":       "\"body\": wren\n" + rest,
		"cards as sizes":       "sizes: A, wren\n" + rest,
		"cards as a list":      "sizes:\n- A\n- wren\n" + rest,
	} {
		out, err := sharing.Plain([]byte(text))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		for _, private := range []string{"Wren", "wren", "101.5"} {
			if strings.Contains(string(out), private) {
				t.Errorf("%s: %s goes out:\n%s", name, private, out)
			}
		}
		var got, want map[string]any
		if err := yaml.Unmarshal(out, &got); err != nil {
			t.Errorf("%s: %v:\n%s", name, err, out)
		}
		if err := yaml.Unmarshal([]byte(rest), &want); err != nil {
			t.Fatal(err)
		}
		gave, err1 := yaml.Marshal(got)
		wants, err2 := yaml.Marshal(want)
		if string(gave) != string(wants) || err1 != nil || err2 != nil {
			t.Errorf("%s: the rest is\n%s", name, out)
		}
		if strings.Contains(text, "# how deep") && !strings.Contains(string(out), "# how deep\n") {
			t.Errorf("%s: the comment of the rest is gone:\n%s", name, out)
		}
	}
	for name, text := range map[string]string{
		"no YAML":        "wearer: Mrs Wren\n  style: S\n",
		"no keys":        "wearer Mrs Wren",
		"nothing":        "",
		"in quotes":      "style: \"S # for Wren\"\ncard: wren\n",
		"in a text":      "note: |\n  # for Wren\nstyle: S\ncard: wren\n",
		"in the style":   "{style: Skirt of mrs  Wren, wearer: Mrs Wren.yaml}\n",
		"named again":    "wearer: &w Mrs Wren\nstyle: *w\n",
		"two of them":    "style: S\n---\nwearer: Mrs Wren\n",
		"a tab before":   "style: S\n\twearer: Mrs Wren\n",
		"sixteen bits":   "\xff\xfew\x00e\x00",
		"never finished": "style: S\nwearer: \"Mrs Wren\n",
	} {
		if out, err := sharing.Plain([]byte(text)); err == nil && strings.Contains(string(out), "Wren") || err == nil && name != "nothing" && !strings.Contains(string(out), "style") {
			t.Errorf("%s is shared as %q", name, out)
		} else {
			t.Log(name, err)
		}
	}
	v := visit(t)
	v.put(filepath.Join(v.drafts, "pocket.yaml"), "wearer: Mrs Wren\n  style: S\n")
	if status, page := v.get("/desk/draft/pocket/share"); status != 400 || strings.Contains(page, "Mrs Wren") || !strings.Contains(page, "is not shared") {
		t.Errorf("%d\n%s", status, page)
	}
}

// TestStartersAreShared: each starter, as copied from the shelf, is shared without its wearer, and can still be drawn.
func TestStartersAreShared(t *testing.T) {
	v := visit(t)
	for _, name := range samples.Starters() {
		text := samples.Read(name + ".yaml")
		out, err := sharing.Plain(text)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		var was struct{ Wearer string }
		if err := yaml.Unmarshal(text, &was); err != nil {
			t.Fatal(err)
		}
		if was.Wearer != "" && strings.Contains(string(out), was.Wearer) {
			t.Errorf("%s: %s goes out", name, was.Wearer)
		}
		if a, b := v.desk.work(t.Context(), wish{Name: name, Text: string(text)}), v.desk.work(t.Context(), wish{Name: name, Text: string(out)}); a.Pattern == nil != (b.Pattern == nil) ||
			a.Pattern != nil && len(a.Pattern.Pieces) != len(b.Pattern.Pieces) {
			t.Errorf("%s: shared, it draws otherwise: %+v", name, b.Findings)
		}
	}
}
