package ledger

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"testing"
)

// TestOrderIsFound: jobs are found by what their tickets say and by the names of their pieces; of a draft that is made
// anew a piece keeps what was ticked of it.
func TestOrderIsFound(t *testing.T) {
	path := filepath.Join(t.TempDir(), "ledger.db")
	l, err := Open(t.Context(), path, nil)
	if err != nil {
		t.Fatal(err)
	}
	for i, o := range []Order{{"Harbour Lights", "chorus 4", "2026-03-14", "calico"}, {"Harbour Lights", "the lamplighter", "2026-03-15", "canvas"}, {}} {
		id := l.Reserve()
		if _, err := l.Enter(t.Context(), Arrival{ID: id, Device: "roll-plotter", File: "smock.yaml", Files: []File{{Name: "original.yaml", SHA256: fmt.Sprint(i)}}}); err != nil {
			t.Fatal(err)
		}
		_, err := l.Change(t.Context(), id, func(j *Job) (Step, error) {
			j.Order = o
			return Step{Pieces: []Piece{{Name: "front", Quantity: 1}, {Name: fmt.Sprintf("sleeve_%d", i), Quantity: 1}, {Name: "front", Quantity: 1}}}, nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	change := func(id int64, s Step) error {
		_, err := l.Change(t.Context(), id, func(*Job) (Step, error) { return s, nil })
		return err
	}
	err = errors.Join(change(1, Step{Kind: "ticked", Text: "front: sewn", Ticks: []Tick{{Name: "front", What: "sewn", Is: true}}}),
		change(1, Step{Pieces: []Piece{{Name: "front", Quantity: 4}, {Name: "back", Quantity: 1}}}))
	if err != nil {
		t.Fatal(err)
	}
	for _, bad := range []Tick{{Name: "hood", What: "cut"}, {Name: "front", What: "quantity"}} {
		if err := change(1, Step{Kind: "ticked", Ticks: []Tick{bad}}); !errors.Is(err, ErrState) {
			t.Errorf("%+v: %v", bad, err)
		}
	}
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
	if l, err = Open(t.Context(), path, nil); err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	for _, c := range []struct {
		f    Filter
		want []int64
	}{
		{Filter{Production: "harbour"}, []int64{1, 2}},
		{Filter{For: "Harbour Lights"}, []int64{1, 2}},
		{Filter{For: "Harbour"}, []int64{}},
		{Filter{Wearer: "chorus"}, []int64{1}},
		{Filter{Due: "2026-03-15"}, []int64{2}},
		{Filter{Material: "CANVAS"}, []int64{2}},
		{Filter{Piece: "sleeve_"}, []int64{2, 3}},
		{Filter{Piece: "back"}, []int64{1}},
		{Filter{Word: "lamp"}, []int64{2}},
		{Filter{Word: "smock"}, []int64{1, 2, 3}},
		{Filter{Word: "sleeve_2"}, []int64{3}},
		{Filter{Word: "%"}, []int64{}},
	} {
		if jobs, err := l.Jobs(t.Context(), c.f); err != nil || !slices.Equal(numbers(jobs), c.want) {
			t.Errorf("%+v gives %v, %v", c.f, numbers(jobs), err)
		}
	}
	shows, err := l.Productions(t.Context(), 9)
	if want := []Production{{"Harbour Lights", 2, "2026-03-15"}}; err != nil || !slices.Equal(shows, want) {
		t.Errorf("%+v, %v", shows, err)
	}
	pieces, err := l.Pieces(t.Context(), 1)
	if want := []Piece{{Job: 1, Name: "back", Quantity: 1}, {Job: 1, Name: "front", Quantity: 4, Sewn: true}}; err != nil || !slices.Equal(pieces, want) {
		t.Errorf("%+v, %v", pieces, err)
	}
	if len(pieces) == 2 && (!pieces[1].Ticked("sewn") || pieces[1].Ticked("cut") || pieces[1].Ticked("fed")) {
		t.Errorf("%+v", pieces[1])
	}
}
