package inbox

import (
	"errors"
	"io/fs"
	"path/filepath"
	"testing"

	"tracewheel/pipeline/store"
	"tracewheel/pipeline/store/faultfs"
)

// TestPutBackReplacesNothing: a person drops a file or a ticket in the very moment in which a claim gets
// its name again. All that was dropped is there afterwards, and the claim keeps its ticket.
func TestPutBackReplacesNothing(t *testing.T) {
	const at = "/inbox/roll-plotter/"
	for dropped, want := range map[string]map[string]string{
		"skirt.svg":          {"skirt.svg": "new", "skirt (2).svg": draft, "skirt (2).ticket.yaml": card},
		"skirt.ticket.yaml":  {"skirt.ticket.yaml": "new", "skirt (2).svg": draft, "skirt (2).ticket.yaml": card},
		"nothing.of.the.way": {"skirt.svg": draft, "skirt.ticket.yaml": card},
	} {
		m := faultfs.NewMemory()
		if err := errors.Join(store.MakeDirs(m, at, 0o755), m.Put(at+".taken-1-skirt.svg", draft, true), m.Put(at+".taken-1-ticket-skirt.ticket.yaml", card, true)); err != nil {
			t.Fatal(err)
		}
		quick := &dropper{FS: m, name: dropped, drop: func() error { return m.Put(at+dropped, "new", true) }}
		taker := takerOn(quick, newBook())
		if err := taker.putBack(claim{device: "roll-plotter", job: 1, name: "skirt.svg", path: at + ".taken-1-skirt.svg",
			ticketPath: at + ".taken-1-ticket-skirt.ticket.yaml"}); err != nil {
			t.Fatal(err)
		}
		files := m.Files()
		for name, content := range want {
			if files[at+name] != content {
				t.Errorf("%s dropped: %s holds %q of %v", dropped, name, files[at+name], files)
			}
		}
		if len(files) != len(want) {
			t.Errorf("%s dropped: %v", dropped, files)
		}
	}
}

// dropper drops a file right before a rename to its name.
type dropper struct {
	store.FS
	name string
	drop func() error
	once bool
}

func (d *dropper) before(to string) error {
	if filepath.Base(to) != d.name || d.once {
		return nil
	}
	d.once = true
	return d.drop()
}

func (d *dropper) Rename(from, to string) error {
	return errors.Join(d.before(to), d.FS.Rename(from, to))
}

func (d *dropper) RenameNew(from, to string) error {
	if err := d.before(to); err != nil {
		return err
	}
	return d.FS.RenameNew(from, to)
}

// TestClaimReplacesNothing: what a stranger gave the name of a claim to is not replaced by the claim.
func TestClaimReplacesNothing(t *testing.T) {
	m := faultfs.NewMemory()
	lay(t, m, true)
	const strange = "/inbox/roll-plotter/.taken-1-skirt.svg"
	if err := m.Put(strange, "a stranger's", true); err != nil {
		t.Fatal(err)
	}
	if err := takeSkirt(m, newBook()); !errors.Is(err, fs.ErrExist) || m.Files()[strange] != "a stranger's" {
		t.Errorf("%v, %v", err, m.Files())
	}
}

// TestPutBackWholeName: a ticket that names its file with the ending keeps to the name that the file gets.
func TestPutBackWholeName(t *testing.T) {
	const at = "/inbox/roll-plotter/"
	m := faultfs.NewMemory()
	if err := errors.Join(store.MakeDirs(m, at, 0o755), m.Put(at+"skirt.svg", "new", true), m.Put(at+".taken-1-skirt.svg", draft, true), m.Put(at+".taken-1-ticket-skirt.svg.ticket.yaml", card, true)); err != nil {
		t.Fatal(err)
	}
	if err := takerOn(m, newBook()).putBack(claim{device: "roll-plotter", job: 1, name: "skirt.svg", path: at + ".taken-1-skirt.svg",
		ticketPath: at + ".taken-1-ticket-skirt.svg.ticket.yaml"}); err != nil {
		t.Fatal(err)
	}
	if files := m.Files(); files[at+"skirt (2).svg"] != draft || files[at+"skirt (2).svg.ticket.yaml"] != card || len(files) != 3 {
		t.Errorf("put back as %v", files)
	}
}
