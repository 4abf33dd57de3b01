package laid

import (
	"context"
	"errors"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"tracewheel/config"
	"tracewheel/config/samples"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/making"
)

// TestOneAtATime: many who ask for one thing have it worked out once, others wait for their turn, and who waits no more
// leaves at once; of work that was given up nothing is kept, and a new workroom file has it worked out anew.
func TestOneAtATime(t *testing.T) {
	room := &config.Workroom{}
	var in, most, done atomic.Int32
	c := &Cloths{Room: func() *config.Workroom { return room }}
	work := func(*config.Workroom) (int, error) {
		most.Store(max(most.Load(), in.Add(1)))
		time.Sleep(10 * time.Millisecond)
		in.Add(-1)
		return int(done.Add(1)), nil
	}
	var all sync.WaitGroup
	for i := range 40 {
		key := []string{"a", "b"}[i%2]
		all.Go(func() {
			if _, err := kept(t.Context(), c, &c.lays, key, work); err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
	if most.Load() != 1 || done.Load() != 2 {
		t.Errorf("%d at a time, worked out %d times", most.Load(), done.Load())
	}
	room = &config.Workroom{}
	if n, err := kept(t.Context(), c, &c.lays, "a", work); n != 3 || err != nil {
		t.Errorf("with a new workroom file: %d, %v", n, err)
	}
	gone, leave := context.WithCancel(t.Context())
	if _, err := kept(gone, c, &c.lays, "c", func(*config.Workroom) (int, error) {
		waiting, no := context.WithTimeout(t.Context(), time.Millisecond)
		defer no()
		if _, err := kept(waiting, c, &c.lays, "d", work); !errors.Is(err, context.DeadlineExceeded) {
			t.Errorf("who waits no more: %v", err)
		}
		leave()
		return 1, nil
	}); !errors.Is(err, context.Canceled) {
		t.Errorf("given up: %v", err)
	}
	if n, err := kept(t.Context(), c, &c.lays, "c", work); n != 4 || err != nil {
		t.Errorf("after it was given up: %d, %v", n, err)
	}
}

// TestKeys: another answer and another lay are another page, the same job is the same.
func TestKeys(t *testing.T) {
	j := ledger.Job{ID: 7, Lay: "a", Answers: map[string]string{"body": "B", "unit": "cm", "allowance": "1cm"}}
	same, lay, said := j, j, j
	lay.Lay, said.Answers = "b", map[string]string{"body": "C"}
	if KeyOf(j) != KeyOf(same) || KeyOf(j) == KeyOf(lay) || KeyOf(j) == KeyOf(said) {
		t.Errorf("%q %q %q", KeyOf(j), KeyOf(lay), KeyOf(said))
	}
}

// TestSearchEndsWithItsClient: a search for another width ends when nobody waits for it, and pauses while something is sent.
func TestSearchEndsWithItsClient(t *testing.T) {
	room := making.Sample()
	var asked atomic.Int32
	c := &Cloths{Room: func() *config.Workroom { return room }, Busy: func() bool { asked.Add(1); return false }}
	read := func() (job.Draft, error) {
		return job.Draft{Job: 1, Name: "smock.yaml", Source: samples.Read("ferry-smock.yaml")}, nil
	}
	if l, err := c.With(t.Context(), "1", read, Wish{Width: 1400}); err != nil || len(l.Cloths) == 0 || l.Cloths[0].Buy == "" || asked.Load() == 0 {
		t.Errorf("%+v, %v; asked %d times whether something is sent", l, err, asked.Load())
	}
	gone, leave := context.WithCancel(t.Context())
	leave()
	if _, err := c.With(gone, "1", read, Wish{Width: 1300}); !errors.Is(err, context.Canceled) {
		t.Errorf("nobody waits: %v", err)
	}
}

// TestTriedAsTheDeviceCuts: a lay tried for a job of a knife keeps the 15 mm and 8 mm of the sample workroom's calico free;
// one for a plotter is of cloth laid by hand, of which nothing more is known.
func TestTriedAsTheDeviceCuts(t *testing.T) {
	room := making.Sample()
	if m := room.Materials["calico"]; m.Margin != 15 || m.Gap != 8 {
		t.Fatalf("%+v", m)
	}
	c := &Cloths{Room: func() *config.Workroom { return room }}
	tried := func(device string) *Lays {
		t.Helper()
		l, err := c.With(t.Context(), device, func() (job.Draft, error) {
			return job.Draft{Job: 1, Name: "smock.yaml", Device: device, Source: samples.Read("ferry-smock.yaml")}, nil
		}, Wish{Width: 1400})
		if err != nil || len(l.Cloths) == 0 {
			t.Fatalf("%+v, %v", l, err)
		}
		return l
	}
	const says = "1.5 cm kept free along each selvedge"
	if got := tried("knife-table").Cloths[0].Rules; !slices.Contains(got, says) {
		t.Errorf("on the knife: %q", got)
	}
	if got := tried("roll-plotter").Cloths[0].Rules; slices.Contains(got, says) {
		t.Errorf("on paper: %q", got)
	}
}

// TestEachClothKeepsItsOwnMargin: of a job of several cloths each is tried with the margin of the workroom's material of its
// name, and is called by the material where another one is tried.
func TestEachClothKeepsItsOwnMargin(t *testing.T) {
	room := making.Sample()
	canvas := room.Materials["calico"]
	canvas.Margin = 25
	room.Materials["canvas"] = canvas
	c := &Cloths{Room: func() *config.Workroom { return room }}
	const two = `<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="400mm" viewBox="0 0 400 400">
<g data-piece="front" data-quantity="1" data-material="calico"><path d="M10 310H210L60 10Z"/></g>
<g data-piece="strap" data-quantity="1" data-material="canvas"><path d="M300 310H340V10H300Z"/></g></svg>`
	tried := func(wish Wish) *Lays {
		t.Helper()
		l, err := c.With(t.Context(), "1", func() (job.Draft, error) {
			return job.Draft{Job: 1, Name: "two.svg", Device: "knife-table", Source: []byte(two), Ticket: []byte("allowance: included\n")}, nil
		}, wish)
		if err != nil || len(l.Cloths) != 2 {
			t.Fatalf("%+v, %v", l, err)
		}
		return l
	}
	l := tried(Wish{Width: 1400})
	for i, want := range []string{"15 mm kept free along each selvedge", "25 mm kept free along each selvedge"} {
		if s := l.Cloths[i]; !slices.Contains(s.Rules, want) {
			t.Errorf("%s: %q does not say %q", s.Title, s.Rules, want)
		}
	}
	if l := tried(Wish{Width: 1400, Material: "canvas"}); l.Cloths[0].Title != "calico, of canvas" || l.Cloths[1].Title != "canvas" {
		t.Errorf("tried on canvas: %q and %q", l.Cloths[0].Title, l.Cloths[1].Title)
	}
}
