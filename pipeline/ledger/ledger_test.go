package ledger

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// TestTransitionsOfRFC8011 holds the table against RFC 8011 section 5.3.7: its seven states, the
// arrows of figure 3 ("Job Life Cycle"), the ways to canceled that the text below the figure adds,
// and that the three ends are ends. What this program adds stands beside, with its reason in the table.
func TestTransitionsOfRFC8011(t *testing.T) {
	rfc := map[State]string{
		"pending":            "pending-held processing canceled",
		"pending-held":       "pending canceled",
		"processing":         "processing-stopped canceled aborted completed",
		"processing-stopped": "processing canceled aborted",
		"canceled":           "",
		"aborted":            "",
		"completed":          "",
	}
	ours := map[State]string{"pending": "aborted", "pending-held": "aborted", "processing-stopped": "completed"}
	states := slices.Sorted(maps.Keys(transitions))
	if len(states) != len(rfc) {
		t.Errorf("%d states", len(states))
	}
	for from, tos := range rfc {
		if !from.Known() {
			t.Errorf("%s is not known", from)
		}
		want := strings.Fields(tos + " " + ours[from])
		for _, to := range states {
			if got := Allowed(from, to); got != slices.Contains(want, string(to)) {
				t.Errorf("from %s to %s is %v", from, to, got)
			}
		}
		if from.Ended() != (len(want) == 0) {
			t.Errorf("%s: ended is %v", from, from.Ended())
		}
		if from.Plain() == string(from) && from != Canceled {
			t.Errorf("%s has no plain word", from)
		}
	}
	if State("unheard").Known() || Allowed("", Processing) {
		t.Error("a state out of nothing")
	}
}

func openTest(t testing.TB) *Ledger {
	t.Helper()
	_, err := Open(context.Background(), filepath.Join(t.TempDir(), "missing", "ledger.db"), nil)
	if err == nil {
		t.Fatal("a ledger in a folder that is not there")
	}
	dir := filepath.Join(t.TempDir(), "a store % with ? and # in it")
	if err := os.Mkdir(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	l, err := Open(context.Background(), filepath.Join(dir, "ledger.db"), nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := l.Check(context.Background()); err != nil {
			t.Error(err)
		}
		if err := l.Close(); err != nil {
			t.Error(err)
		}
	})
	if _, err := os.Stat(filepath.Join(dir, "ledger.db")); err != nil {
		t.Error(err)
	}
	return l
}

func arrive(t testing.TB, l *Ledger, content string) Job {
	t.Helper()
	id := l.Reserve()
	j, err := l.Enter(t.Context(), Arrival{ID: id, Device: "roll-plotter", File: fmt.Sprintf("f%d.svg", id),
		Files: []File{{Name: "original.svg", Size: 7, SHA256: content}}, Text: "taken"})
	if err != nil {
		t.Fatal(err)
	}
	return j
}

func move(l *Ledger, id int64, to State) error {
	_, err := l.Change(context.Background(), id, func(j *Job) (Step, error) {
		j.State = to
		return Step{Kind: "test"}, nil
	})
	return err
}

// TestRandomLife drives jobs at random against a plain map; both must agree, and the history must
// walk by the table.
func TestRandomLife(t *testing.T) {
	l := openTest(t)
	rapid.Check(t, func(rt *rapid.T) {
		j := arrive(t, l, "c")
		state := j.State
		for range rapid.IntRange(1, 12).Draw(rt, "steps") {
			to := rapid.SampledFrom(slices.Sorted(maps.Keys(transitions))).Draw(rt, "to")
			err := move(l, j.ID, to)
			if to != state && !Allowed(state, to) {
				if !errors.Is(err, ErrState) {
					rt.Fatalf("from %s to %s: %v", state, to, err)
				}
				continue
			}
			if err != nil {
				rt.Fatalf("from %s to %s: %v", state, to, err)
			}
			state = to
		}
		got, err := l.Job(t.Context(), j.ID)
		if err != nil || got.State != state || got.Ended.IsZero() == state.Ended() {
			rt.Fatalf("job is %+v and not %s, %v", got, state, err)
		}
		events, err := l.Events(t.Context(), j.ID)
		if err != nil {
			rt.Fatal(err)
		}
		at := State("")
		for _, e := range events {
			if e.From != at || e.To != at && !Allowed(at, e.To) {
				rt.Fatalf("history breaks at %+v", e)
			}
			at = e.To
		}
		if at != state {
			rt.Fatalf("history ends as %s", at)
		}
	})
}

func TestSameContentSaysSo(t *testing.T) {
	l := openTest(t)
	a := arrive(t, l, "abc")
	b := arrive(t, l, "abc")
	c := arrive(t, l, "abd")
	if a.SameAs != 0 || b.SameAs != a.ID || c.SameAs != 0 {
		t.Errorf("same as %d, %d, %d", a.SameAs, b.SameAs, c.SameAs)
	}
	events, err := l.Events(t.Context(), b.ID)
	if err != nil || len(events) != 1 || !strings.Contains(events[0].Text, fmt.Sprintf("same content as job %d", a.ID)) {
		t.Errorf("%+v, %v", events, err)
	}
}

// TestTrialIsNoGarment: what ran with the tool up is the same content as nothing, nor is anything the same as it, and what a
// machine reads says what it was.
func TestTrialIsNoGarment(t *testing.T) {
	l := openTest(t)
	enter := func(a Arrival) Job {
		t.Helper()
		a.ID, a.Device, a.File, a.Files = l.Reserve(), "knife-table", "f.svg", []File{{Name: "original.svg", Size: 7, SHA256: "abc"}}
		j, err := l.Enter(t.Context(), a)
		if err != nil {
			t.Fatal(err)
		}
		return j
	}
	first := enter(Arrival{})
	second := enter(Arrival{Answers: map[string]string{"body": "A"}})
	trial := enter(Arrival{AgainOf: second.ID, Answers: map[string]string{"body": "A", AnswerToolUp: "bounds"}})
	last := enter(Arrival{})
	if second.SameAs != first.ID || trial.SameAs != 0 || last.SameAs != second.ID {
		t.Errorf("the same as %d, %d and %d", second.SameAs, trial.SameAs, last.SameAs)
	}
	for _, c := range []struct {
		job  Job
		said string
	}{{first, ""}, {second, ""}, {trial, "bounds of job 2, with the tool up"}, {Job{AgainOf: 7, Answers: map[string]string{AnswerToolUp: "dry"}}, "dry run of job 7, with the tool up"}} {
		text, err := json.Marshal(c.job)
		if told := strings.Contains(string(text), `"trial":"`+c.job.Answers[AnswerToolUp]+`"`); err != nil || c.job.TrialSaid() != c.said || told != (c.said != "") {
			t.Errorf("%q instead of %q, %s, %v", c.job.TrialSaid(), c.said, text, err)
		}
	}
}

// TestBedRepeatsNone: the jobs of a job's beds have its content, and are no second drop of it nor of one another.
func TestBedRepeatsNone(t *testing.T) {
	l := openTest(t)
	first := arrive(t, l, "abc")
	for _, bed := range []string{"2 of 3", "3 of 3"} {
		j, err := l.Enter(t.Context(), Arrival{ID: l.Reserve(), Device: first.Device, File: "f.svg", AgainOf: first.ID, Answers: map[string]string{AnswerBed: bed}, Files: []File{{Name: "original.svg", Size: 7, SHA256: "abc"}}})
		if err != nil || j.SameAs != 0 {
			t.Errorf("bed %s: the same as %d, %v", bed, j.SameAs, err)
		}
	}
	if again := arrive(t, l, "abc"); again.SameAs == 0 {
		t.Error("a second drop is not told")
	}
}

// TestSameContentWantsTheSame: another ticket, another draft that it names or another device is not the same job.
func TestSameContentWantsTheSame(t *testing.T) {
	l := openTest(t)
	for i, c := range []struct {
		device, ticket, with string
		same                 int64
	}{
		{"roll-plotter", "", "", 0}, {"knife-table", "", "", 0}, {"roll-plotter", "", "", 1}, {"roll-plotter", "t1", "", 0},
		{"roll-plotter", "t2", "", 0}, {"roll-plotter", "t1", "w1", 0}, {"roll-plotter", "t1", "w2", 0}, {"roll-plotter", "t1", "w1", 6},
		{"roll-plotter", "t1", "", 4}, {"roll-plotter", "", "", 3},
	} {
		a := Arrival{ID: l.Reserve(), Device: c.device, File: "f.svg", Files: []File{{Name: "original.svg", Size: 7, SHA256: "abc"}}, Text: "taken"}
		if c.ticket != "" {
			a.Ticket, a.Files = "ticket.yaml", append(a.Files, File{Name: "ticket.yaml", Size: 1, SHA256: c.ticket})
		}
		if c.with != "" {
			a.Files = append(a.Files, File{Name: WithFile("b.svg"), Size: 1, SHA256: c.with})
		}
		if j, err := l.Enter(t.Context(), a); err != nil || j.SameAs != c.same {
			t.Errorf("%d, %v: same as %d, %v", i+1, c, j.SameAs, err)
		}
	}
}

// TestEnteredTogether: of jobs that are entered together all are in the ledger or none, and none is said to
// repeat one that has a higher number, in whatever order they come.
func TestEnteredTogether(t *testing.T) {
	l := openTest(t)
	arrival := func(id int64) Arrival {
		return Arrival{ID: id, Device: "roll-plotter", File: "cape.svg", Files: []File{{Name: "original.svg", Size: 7, SHA256: "abc"}}, Text: "taken"}
	}
	l.Above(4)
	jobs, err := l.EnterAll(t.Context(), []Arrival{arrival(4), arrival(2)})
	if err != nil || len(jobs) != 2 || jobs[0].SameAs != 0 || jobs[1].SameAs != 0 {
		t.Fatalf("entering 4 and 2 gives %+v, %v", jobs, err)
	}
	if jobs, err := l.EnterAll(t.Context(), []Arrival{arrival(3), arrival(2)}); err == nil || jobs != nil {
		t.Errorf("entering job 2 again gives %+v, %v", jobs, err)
	}
	if known, err := l.Known(t.Context(), 3); known || err != nil {
		t.Errorf("job 3 is known although job 2 was refused: %v", err)
	}
	if j, err := l.Enter(t.Context(), arrival(3)); err != nil || j.SameAs != 2 {
		t.Errorf("entering 3 gives %+v, %v", j, err)
	}
}

// TestErase: of a job that is forgotten its number, device, state, dates and sendings stay, and nothing else that it was
// told, by whichever field; a column that is added and not erased is found here.
func TestErase(t *testing.T) {
	l := openTest(t)
	j := arrive(t, l, "smock.yaml")
	at := time.Date(2026, 11, 29, 20, 0, 0, 0, time.UTC)
	_, err := l.Change(t.Context(), j.ID, func(j *Job) (Step, error) {
		j.State, j.Reason, j.Style, j.Pieces, j.Ready, j.Asks = Canceled, "canceled", "smock", 4, true, "a body"
		j.Production, j.Wearer, j.Due, j.Material = "harbour", "Lady of the Quay", "2026-12-24", "canvas"
		j.Answers = map[string]string{"body": "quayside-7"}
		j.Lay, j.Fixed = strings.Repeat("ab", 32), true
		return Step{Kind: "cancel", Text: "of the Lady", Send: &Send{No: 1, Began: at, Updated: at, Blocks: 9, Total: 100, Sure: 4, Stroke: 3, Tool: "up", End: "stopped"}}, nil
	})
	if err == nil {
		err = l.Erase(t.Context(), []int64{j.ID})
	}
	if err != nil {
		t.Fatal(err)
	}
	was, err := l.Job(t.Context(), j.ID)
	if err != nil {
		t.Fatal(err)
	}
	if len(was.Answers) > 0 {
		t.Errorf("the answers are left: %v", was.Answers)
	}
	left := was
	left.Answers = nil
	if want := (Job{ID: was.ID, Device: j.Device, File: ForgottenWord, Reason: ForgottenWord, State: Canceled, Stripped: Forgotten,
		Received: was.Received, Ended: was.Ended, SHA256: was.SHA256[:0], Sends: 1, Send: was.Send}); !reflect.DeepEqual(left, want) {
		t.Errorf("of the job is left\n%+v, want\n%+v", left, want)
	}
	if was.Send.No != 1 || was.Send.Bytes+was.Send.Total == 0 || was.Send.Held != nil || was.Received.IsZero() {
		t.Errorf("of its sending is left %+v", was)
	}
}

func TestNumbersAreNeverGivenAgain(t *testing.T) {
	path := filepath.Join(t.TempDir(), "ledger.db")
	var last int64
	for range 3 {
		l, err := Open(t.Context(), path, nil)
		if err != nil {
			t.Fatal(err)
		}
		j := arrive(t, l, "x")
		if j.ID <= last {
			t.Errorf("job %d after %d", j.ID, last)
		}
		last = j.ID
		if _, err := l.Change(t.Context(), j.ID, func(j *Job) (Step, error) { j.Pruning = true; return Step{}, nil }); err != nil {
			t.Fatal(err)
		}
		if err := l.Forget(t.Context(), j.ID); err != nil {
			t.Fatal(err)
		}
		if _, err := l.Job(t.Context(), j.ID); !errors.Is(err, ErrNoJob) {
			t.Errorf("a forgotten job: %v", err)
		}
		if err := l.Close(); err != nil {
			t.Fatal(err)
		}
	}
	l, err := Open(t.Context(), path, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	l.Above(70)
	if id := l.Reserve(); id != 71 {
		t.Errorf("after 70 comes %d", id)
	}
}

// TestProgressOnlyGrows: what was certain is never taken back, and a run that has ended is closed.
func TestProgressOnlyGrows(t *testing.T) {
	l := openTest(t)
	j := arrive(t, l, "x")
	put := func(end string, sure int) error {
		_, err := l.Change(t.Context(), j.ID, func(j *Job) (Step, error) {
			s := Send{No: 1, Began: time.Now(), Updated: time.Now(), Blocks: 9, Total: 100, Sure: sure, Stroke: -1, Tool: Unknown, End: end}
			return Step{Send: &s}, nil
		})
		return err
	}
	if err := put("", -1); err != nil {
		t.Fatal(err)
	}
	for _, s := range []Send{{Bytes: 50, Sure: 4, Stroke: 3}, {Bytes: 40, Sure: -1, Stroke: -1}, {Bytes: 60, Sure: 2, Stroke: 2}} {
		s.No, s.Updated, s.Tool = 1, time.Now(), Unknown
		if err := l.Progress(t.Context(), j.ID, s); err != nil {
			t.Fatal(err)
		}
	}
	got, err := l.Job(t.Context(), j.ID)
	if err != nil || got.Sends != 1 || got.Send.Bytes != 60 || got.Send.Sure != 4 || got.Send.Stroke != 3 {
		t.Errorf("%+v, %v", got.Send, err)
	}
	if err := put("done", 8); err != nil {
		t.Fatal(err)
	}
	if err := l.Progress(t.Context(), j.ID, Send{No: 1, Bytes: 99, Sure: 99, Stroke: 99, Tool: "down"}); err != nil {
		t.Fatal(err)
	}
	if got, err = l.Job(t.Context(), j.ID); err != nil || got.Send.Sure != 8 || got.Send.Tool != Unknown {
		t.Errorf("after its end: %+v, %v", got.Send, err)
	}
}

func BenchmarkChange(b *testing.B) {
	l := openTest(b)
	id := l.Reserve()
	if _, err := l.Enter(b.Context(), Arrival{ID: id, Files: []File{{Name: "original"}}}); err != nil {
		b.Fatal(err)
	}
	for i := 0; b.Loop(); i++ {
		if err := move(l, id, []State{Held, Pending}[i%2]); err != nil {
			b.Fatal(err)
		}
	}
}
