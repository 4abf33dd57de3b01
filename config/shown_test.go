package config

import (
	"fmt"
	"reflect"
	"regexp"
	"strings"
	"testing"

	yaml "go.yaml.in/yaml/v4"

	"tracewheel/devices"
)

// shownKey is a key of a device in the sample, with its value and what is said of it.
type shownKey struct{ section, key, value, said string }

var (
	keyLine  = regexp.MustCompile(`^      (\w+): +(.*?)(?: +#(.*))?$`)
	moreLine = regexp.MustCompile(`^ {7,}#(.*)$`)
)

// shownKeys are the keys of one device of the sample that stand a line each.
func shownKeys(device string) []shownKey {
	var out []shownKey
	section, on := "", false
	for line := range strings.Lines(string(SampleFile())) {
		line = strings.TrimRight(line, "\n")
		if m := regexp.MustCompile(`^  ([\w-]+):`).FindStringSubmatch(line); m != nil {
			on = m[1] == device
		}
		if m := regexp.MustCompile(`^    (\w+):`).FindStringSubmatch(line); m != nil {
			section = m[1]
		}
		switch m := keyLine.FindStringSubmatch(line); {
		case !on:
		case m != nil:
			out = append(out, shownKey{section, m[1], m[2], m[3]})
		case moreLine.MatchString(line) && len(out) > 0:
			out[len(out)-1].said += moreLine.FindStringSubmatch(line)[1]
		}
	}
	return out
}

// The sample promises that a key left out keeps the value shown, or the one in brackets for its
// language or kind: held against devices.Default, key by key.
func TestSampleTellsTheDefaults(t *testing.T) {
	for _, kind := range []devices.Kind{devices.PenPlotter, devices.DragKnife, devices.TangentialKnife, devices.PenGantry, devices.SheetPrinter} {
		languages := []devices.Language{devices.GCode}
		keys := append(shownKeys("knife-table"), shownKeys("roll-plotter")...)
		least := 30
		switch kind {
		case devices.SheetPrinter:
			languages, keys, least = []devices.Language{devices.PDF}, shownKeys("office-printer"), 6
		case devices.PenPlotter:
			languages = []devices.Language{devices.HPGL, devices.HPGL2}
		}
		for _, language := range languages {
			text, err := yaml.Marshal(devices.Default(kind, language))
			if err != nil {
				t.Fatal(err)
			}
			var kept map[string]any
			if err := yaml.Unmarshal(text, &kept); err != nil {
				t.Fatal(err)
			}
			compared := 0
			for _, k := range keys {
				if !used(k.section, kind) || strings.Contains(k.said, "needed") || strings.Contains(k.said, "left out") {
					continue
				}
				shown := k.value
				for _, of := range []string{string(language), string(kind)} {
					if m := regexp.MustCompile(`\[` + of + `: ([^\]]*)\]`).FindStringSubmatch(k.said); m != nil {
						shown = m[1]
					}
				}
				var want any
				if err := yaml.Unmarshal([]byte(shown), &want); err != nil {
					t.Fatal(err)
				}
				section, _ := kept[k.section].(map[string]any)
				if got := section[k.key]; !same(got, want) {
					t.Errorf("%s in %s: %s.%s left out is %v, and the sample says %v", kind, language, k.section, k.key, got, want)
				}
				compared++
			}
			if compared < least {
				t.Errorf("%s in %s: only %d keys were compared", kind, language, compared)
			}
		}
	}
}

// used tells whether a kind of device has a section at all.
func used(section string, kind devices.Kind) bool {
	switch section {
	case "plot":
		return kind == devices.PenPlotter
	case "blade":
		return kind.Cuts()
	case "gantry":
		return kind != devices.PenPlotter
	case "pen", "port":
		return kind != devices.SheetPrinter
	case "sheets":
		return kind == devices.SheetPrinter
	}
	return false
}

// same compares what YAML makes of two values; an empty list or map is none.
func same(a, b any) bool {
	empty := func(v any) bool {
		r := reflect.ValueOf(v)
		return v == nil || (r.Kind() == reflect.Slice || r.Kind() == reflect.Map) && r.Len() == 0
	}
	return empty(a) && empty(b) || fmt.Sprint(a) == fmt.Sprint(b)
}

// So do the keys above the devices, but for those that say what they are when they are left out.
func TestSampleTellsTheOtherDefaults(t *testing.T) {
	text, err := yaml.Marshal(defaults())
	if err != nil {
		t.Fatal(err)
	}
	var kept, shown map[string]any
	if err := yaml.Unmarshal(text, &kept); err != nil {
		t.Fatal(err)
	}
	if err := yaml.Unmarshal(SampleFile(), &shown); err != nil {
		t.Fatal(err)
	}
	said := map[string]string{}
	for line := range strings.Lines(string(SampleFile())) {
		if m := regexp.MustCompile(`^ *([\w-]+):.*?#(.*)`).FindStringSubmatch(line); m != nil && said[m[1]] == "" {
			said[m[1]] = m[2]
		}
	}
	compared := 0
	compare := func(section, key string, kept, shown any) {
		if strings.Contains(said[key], "left out") {
			return
		}
		compared++
		if d, err := ParseDuration(fmt.Sprint(shown)); err == nil {
			shown = int64(d)
		}
		if d, err := ParseDuration(fmt.Sprint(kept)); err == nil {
			kept = int64(d)
		}
		if !same(kept, shown) {
			t.Errorf("%s.%s left out is %v, and the sample says %v", section, key, kept, shown)
		}
	}
	for key, value := range shown {
		switch {
		case key == "devices" || key == "materials": // a material's are told in the head
		default:
			section, ok := value.(map[string]any)
			if !ok {
				compare("", key, kept[key], value)
				continue
			}
			of, _ := kept[key].(map[string]any)
			for k, v := range section {
				compare(key, k, of[k], v)
			}
		}
	}
	if compared < 25 {
		t.Errorf("only %d keys were compared", compared)
	}
}
