package measured

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"regexp"
	"strings"
	"testing"

	yaml "go.yaml.in/yaml/v4"

	"tracewheel/config/samples"
	"tracewheel/devices/needs"
	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/sentence"
)

// The schema for editors knows exactly the keys that the reader knows, and every key of the starter
// drafts.
func TestSchemaKeys(t *testing.T) {
	data, err := os.ReadFile("schema.json")
	if err != nil {
		t.Fatal(err)
	}
	var s struct {
		Properties map[string]any `json:"properties"`
		Patterns   map[string]any `json:"patternProperties"`
	}
	if err := json.Unmarshal(data, &s); err != nil {
		t.Fatal(err)
	}
	for _, k := range drafting.TopKeys {
		if _, ok := s.Properties[k]; !ok {
			t.Errorf("the schema does not know %q", k)
		}
	}
	if len(s.Properties) != len(drafting.TopKeys) {
		t.Errorf("the schema knows %d keys, the reader %d", len(s.Properties), len(drafting.TopKeys))
	}
	for _, file := range starterFiles(t) {
		doc, faults := sentence.ParseDoc(samples.Read(file), file)
		if faults != nil {
			t.Fatal(faults)
		}
		for i := 0; i < len(doc.Root.Content); i += 2 {
			k := doc.Root.Content[i].Value
			_, ok := s.Properties[k]
			for p := range s.Patterns {
				ok = ok || regexp.MustCompile(p).MatchString(k)
			}
			if !ok {
				t.Errorf("%s: the schema does not know %q", file, k)
			}
		}
	}
}

// keysAsText makes JSON's objects of YAML's mappings: a size 10 is the key "10".
func keysAsText(v any) any {
	switch m := v.(type) {
	case map[any]any:
		out := map[string]any{}
		for k, x := range m {
			out[fmt.Sprint(k)] = keysAsText(x)
		}
		return out
	case map[string]any:
		for k, x := range m {
			m[k] = keysAsText(x)
		}
	}
	return v
}

const judge = `
import json, sys
import jsonschema
d = json.load(sys.stdin)
jsonschema.Draft202012Validator.check_schema(d["schema"])
v = jsonschema.Draft202012Validator(d["schema"])
print(json.dumps([v.is_valid(x) for x in d["drafts"]]))
`

// The schema is a valid one, takes all starter drafts and refuses slips, as Python's jsonschema library
// reads it; skipped where that is absent.
func TestSchemaByAnotherLibrary(t *testing.T) {
	needs.Program(t, "python3-jsonschema", "python3", "-c", "import jsonschema")
	jacket := string(samples.Read("lamplighter-jacket.yaml"))
	slips := [][2]string{{"unit: in ", "unit: inch "}, {"\npieces:", "\npeices:"}, {"\nallow:", "\nalow:"}, {"\ndraft front:", "\nfront:"},
		{"cut 2, a pair\n  back", "2, a pair\n  back"}, {"- side front side = back side", "- side front side to back side"},
		{"side front armhole: one, 3", "side front armhole: 3"}, {"finished 2*width", "2*width"}, {"main: 45 wide", "main: 45"},
		{"waist: 28,", "waist 28,"}, {"  armhole: 3/8", "  armhole:\n    deep: 3/8"}}
	var drafts []any
	read := func(text string) {
		var v any
		if err := yaml.Unmarshal([]byte(text), &v); err != nil {
			t.Fatal(err)
		}
		drafts = append(drafts, keysAsText(v))
	}
	for _, file := range starterFiles(t) {
		read(string(samples.Read(file)))
	}
	read(gatheredSkirt)
	good := len(drafts)
	for _, s := range slips {
		text := strings.Replace(jacket, s[0], s[1], 1)
		if text == jacket {
			t.Fatalf("%q is not in the jacket", s[0])
		}
		read(text)
	}
	in, err := json.Marshal(map[string]any{"schema": json.RawMessage(Schema), "drafts": drafts})
	if err != nil {
		t.Fatal(err)
	}
	c := exec.Command("python3", "-c", judge)
	c.Stdin = bytes.NewReader(in)
	out, err := c.Output()
	if err != nil {
		t.Fatal(err)
	}
	var valid []bool
	if err := json.Unmarshal(out, &valid); err != nil {
		t.Fatal(err)
	}
	for i, ok := range valid {
		if i < good && !ok {
			t.Errorf("draft %d is refused", i)
		}
		if i >= good && ok {
			t.Errorf("the slip %q is taken", slips[i-good][1])
		}
	}
}
