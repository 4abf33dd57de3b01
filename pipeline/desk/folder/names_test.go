package folder

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// TestNames: a name may have dots, is never a path, a hidden file, a ticket or an old version, and two files of a
// folder never share one.
func TestNames(t *testing.T) {
	for name, want := range map[string]string{
		"smock": "smock.yaml", "smock v1.2": "smock v1.2.yaml", "smock.yml": "smock.yml", "Mrs. Wren's": "Mrs. Wren's.yaml",
		"smock.yaml": "", "smock.ticket": "", "smock.ticket.yml": "", "smock.yaml.ticket": "", ".smock": "", "..": "", "../smock": "", `a\b`: "", "a/b": "", "": "", "a\x00b": "",
	} {
		file, err := File("", name)
		if (err == nil) != (want != "") || file != want {
			t.Errorf("%q lies at %q, %v", name, file, err)
		}
	}
	for said, want := range map[string]string{"apron": "apron", " apron ": "apron", "apron.yaml": "apron", "apron.yml": "apron.yml", "apron.YAML": "apron", "smock v1.2": "smock v1.2", "St. Clare": "St. Clare",
		"apron.svg": "", "Apron.DXF": "", "apron.pdf": "", "": "", "apron.ticket.yaml": ""} {
		name, err := Named(said)
		if (err == nil) != (want != "") || err == nil && name != want {
			t.Errorf("%q is called %q, %v", said, name, err)
		}
		if strings.EqualFold(filepath.Ext(said), ".svg") && !strings.Contains(err.Error(), "ends in .yaml or .yml: leave .svg away") {
			t.Error(err)
		}
	}
	dir := t.TempDir()
	for _, name := range []string{"smock.yaml", "smock.yml", "smock v1.2.yaml", "smock.ticket.yaml", "smock.yaml.ticket.yml", ".part-x.yaml", "apron.svg", "plain", "bad%.yaml", "hale.yml"} {
		if err := os.WriteFile(filepath.Join(dir, name), nil, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Mkdir(filepath.Join(dir, "folder.yaml"), 0o700); err != nil {
		t.Fatal(err)
	}
	if got := Names(dir); !slices.Equal(got, []string{"hale.yml", "smock v1.2", "smock", "smock.yml"}) {
		t.Errorf("drafts: %q", got)
	}
	if got := Cards(dir); !slices.Equal(got, []string{"hale", "smock", "smock v1.2"}) {
		t.Errorf("cards: %q", got)
	}
	for file, want := range map[string]string{"smock.yaml": "smock", "smock.yml": "smock.yml", "smock v1.2.yaml": "smock v1.2", "smock v1.2": "smock v1.2", "hale": "hale.yml",
		"apron.svg": "names end in .yaml or .yml", "plain": "names end in .yaml or .yml", "nothing.yaml": "there is no draft", "nothing": "there is no draft", "bad%.yaml": "give the file such a name", "folder.yaml": "there is no draft"} {
		at, name, err := At(filepath.Join(dir, file))
		if err != nil {
			name = err.Error()
		} else if filepath.Clean(at) != dir {
			err = errors.New(at)
			t.Errorf("%s lies in %v", file, err)
		}
		if err == nil && name != want || err != nil && !strings.Contains(name, want) {
			t.Errorf("%s is %q", file, name)
		}
	}
}
