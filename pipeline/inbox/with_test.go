package inbox

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store/faultfs"
)

// TestNamedDraftsGoTogether: a draft is claimed when all that its ticket names are there, in the folder or among the
// workroom's drafts; those in the folder go with it, and what is not whole leaves all as it lay.
func TestNamedDraftsGoTogether(t *testing.T) {
	const at = "/inbox/roll-plotter/"
	m := faultfs.NewMemory()
	lay(t, m, false)
	put := func(path, content string) {
		t.Helper()
		if err := m.Put(path, content, true); err != nil {
			t.Fatal(err)
		}
	}
	put(at+"skirt.ticket.yaml", "with: [lining.svg, {file: pocket.yaml, body: B}]\n")
	put(at+"lining.svg", lining)
	b := newBook()
	take := func() (int64, error) {
		info, err := m.Lstat(at + "skirt.svg")
		if err != nil {
			t.Fatal(err)
		}
		taker := takerOn(m, b)
		taker.Drafts = "/drafts"
		return takeOne(t.Context(), taker, Take{Device: "roll-plotter", Entry: entryOf(info)})
	}
	lying := func() (names []string) {
		for path := range m.Files() {
			if name, in := strings.CutPrefix(path, at); in {
				names = append(names, name)
			}
		}
		slices.Sort(names)
		return names
	}
	before := lying()
	put(at+"skirt.ticket.yaml", "with: [lining.svg, {file: pocket.yaml, body: B}, bib.svg]\n")
	if _, err := take(); err == nil || !strings.Contains(err.Error(), "names pocket.yaml, bib.svg, which are neither here nor in the workroom's folder drafts; put them here") {
		t.Errorf("without two of them: %v", err)
	}
	put(at+"skirt.ticket.yaml", "with: [lining.svg, {file: pocket.yaml, body: B}]\n")
	job, err := take()
	if w := new(waiting); job != 0 || !errors.As(err, w) || !strings.Contains(err.Error(), "its ticket skirt.ticket.yaml names pocket.yaml, which is neither here nor in the workroom's folder drafts") {
		t.Fatalf("without one of them: job %d, %v", job, err)
	}
	if list := Look(m, "/inbox", []string{"roll-plotter"}, "/drafts"); len(list) != 1 || list[0].File != "skirt.svg" || list[0].Why != err.Error() {
		t.Errorf("without a daemon is listed %v", list)
	}
	if got := lying(); !slices.Equal(got, before) || len(b.entered) != 0 {
		t.Errorf("in the folder lie %v, and %d jobs are entered", got, len(b.entered))
	}

	// Claimed by a program that crashed, and gone before the next one began: all have their names again.
	if err := errors.Join(m.RenameNew(at+"skirt.svg", at+".taken-7-skirt.svg"), m.RenameNew(at+"lining.svg", at+".taken-7--with-lining.svg"),
		m.RenameNew(at+"skirt.ticket.yaml", at+".taken-7-ticket-skirt.ticket.yaml")); err != nil {
		t.Fatal(err)
	}
	if _, err := takerOn(m, b).Finish(t.Context(), "roll-plotter"); err == nil {
		t.Error("a claim without a draft that its ticket names was finished")
	}
	if got := lying(); !slices.Equal(got, before) {
		t.Errorf("in the folder lie %v, not %v", got, before)
	}

	put("/drafts/pocket.yaml", "style: pocket\n")
	if job, err = take(); err != nil {
		t.Fatal(err)
	}
	var kept []string
	for _, f := range b.entered[job].Files {
		if name, is := f.With(); is {
			kept = append(kept, name)
		}
	}
	if got := m.Files()[fmt.Sprintf("/store/jobs/%d/%s", job, ledger.WithFile("lining.svg"))]; got != lining || len(b.entered) != 1 {
		t.Errorf("kept is %q", got)
	}
	if !slices.Equal(kept, []string{"lining.svg"}) || len(lying()) != 0 || m.Files()["/drafts/pocket.yaml"] == "" {
		t.Errorf("kept are %v; in the folder lie %v", kept, lying())
	}
	if text := b.entered[job].Text; text != "taken from the inbox with its ticket, and 1 draft that it names" {
		t.Errorf("entered as %q", text)
	}
}

// TestNoTicketIsTakenAsADraft: a ticket that names its own or another's takes neither away from its draft.
func TestNoTicketIsTakenAsADraft(t *testing.T) {
	m, b := faultfs.NewMemory(), newBook()
	lay(t, m, false)
	const at, ticket = "/inbox/roll-plotter/", "with: [skirt.ticket.yaml, hat.ticket.yaml, lining.svg]\nallowance: 10mm\n"
	if err := errors.Join(m.Put(at+"skirt.ticket.yaml", ticket, true), m.Put(at+"hat.ticket.yaml", "copies: 2\n", true), m.Put(at+"lining.svg", lining, true)); err != nil {
		t.Fatal(err)
	}
	if err := takeSkirt(m, b); err != nil {
		t.Fatal(err)
	}
	if a := b.entered[1]; a.Ticket != "ticket.yaml" || m.Files()["/store/jobs/1/ticket.yaml"] != ticket || m.Files()[at+"hat.ticket.yaml"] == "" {
		t.Errorf("entered is %+v; there lie %v", a, m.Files())
	}
}

// vanishing is a file system in which a ticket is taken away as the draft is claimed.
type vanishing struct {
	*faultfs.Memory
	ticket string
}

func (v vanishing) RenameNew(from, to string) error {
	if from == v.ticket {
		if err := v.Remove(from); err != nil {
			return err
		}
	}
	return v.Memory.RenameNew(from, to)
}

// TestATicketThatGoesMeanwhile: no job is made of the draft and the ones that its ticket named without the ticket.
func TestATicketThatGoesMeanwhile(t *testing.T) {
	m, b := faultfs.NewMemory(), newBook()
	layWith(t, m, withLining)
	const at = "/inbox/roll-plotter/"
	err := takeSkirt(vanishing{m, at + "skirt.ticket.yaml"}, b)
	if err == nil || !strings.Contains(err.Error(), "its ticket skirt.ticket.yaml was taken away") || len(b.entered) != 0 {
		t.Errorf("%v, entered are %v", err, b.entered)
	}
	if m.Files()[at+"skirt.svg"] != draft || m.Files()[at+"lining.svg"] != lining {
		t.Errorf("there lie %v", m.Files())
	}
}

// TestWhyNamedDraftsWait: it is told truly of a draft that another job took, and of two whose tickets name each other.
func TestWhyNamedDraftsWait(t *testing.T) {
	m, b := faultfs.NewMemory(), newBook()
	layWith(t, m, withLining)
	const at = "/inbox/roll-plotter/"
	if err := takeSkirt(m, b); err != nil {
		t.Fatal(err)
	}
	put := func(name, text string) {
		t.Helper()
		if err := m.Put(at+name, text, true); err != nil {
			t.Fatal(err)
		}
	}
	put("hat.ticket.yaml", withLining)
	put("hat.svg", draft)
	list := Look(m, "/inbox", []string{"roll-plotter"}, "/drafts")
	if len(list) != 1 || !strings.HasSuffix(list[0].Why, "put it here, again if another job took it or, for several tickets, into that folder, or take it out of the ticket") {
		t.Errorf("without the draft that the other job took: %v", list)
	}
	put("lining.svg", lining)
	put("lining.ticket.yaml", "with: [hat.svg]\n")
	list = Look(m, "/inbox", []string{"roll-plotter"}, "/drafts")
	if len(list) != 2 || !strings.Contains(list[0].Why, "is itself named by a ticket") || !strings.Contains(list[1].Why, "is itself named by a ticket") {
		t.Errorf("naming each other: %v", list)
	}
}
