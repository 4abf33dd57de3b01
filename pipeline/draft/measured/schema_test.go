package measured

import (
	"encoding/json"
	"os"
	"regexp"
	"testing"

	"tracewheel/config/samples"
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
	for _, k := range topKeys {
		if _, ok := s.Properties[k]; !ok {
			t.Errorf("the schema does not know %q", k)
		}
	}
	if len(s.Properties) != len(topKeys) {
		t.Errorf("the schema knows %d keys, the reader %d", len(s.Properties), len(topKeys))
	}
	for _, st := range starters {
		doc, faults := parseDoc(samples.Read(st.file), st.file)
		if faults != nil {
			t.Fatal(faults)
		}
		for i := 0; i < len(doc.root.Content); i += 2 {
			k := doc.root.Content[i].Value
			_, ok := s.Properties[k]
			for p := range s.Patterns {
				ok = ok || regexp.MustCompile(p).MatchString(k)
			}
			if !ok {
				t.Errorf("%s: the schema does not know %q", st.file, k)
			}
		}
	}
}
