package ledger

import (
	"database/sql"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

func numbers(jobs []Job) []int64 {
	out := []int64{}
	for _, j := range jobs {
		out = append(out, j.ID)
	}
	return out
}

func TestFilters(t *testing.T) {
	now := time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)
	l, err := Open(t.Context(), filepath.Join(t.TempDir(), "ledger.db"), func() time.Time { return now })
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	for i, style := range []string{"Cloak 100%", "Doublet_a", "Cloak", "Doublet-a", `Ho\se`} {
		id := l.Reserve()
		now = now.Add(24 * time.Hour)
		_, err := l.Enter(t.Context(), Arrival{ID: id, Device: []string{"roll-plotter", "knife-table"}[i%2], File: "f", Files: []File{{Name: "original.svg", SHA256: fmt.Sprint(i)}}})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := l.Change(t.Context(), id, func(j *Job) (Step, error) { j.Style = style; return Step{}, nil }); err != nil {
			t.Fatal(err)
		}
	}
	if err := move(l, 3, Canceled); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		f    Filter
		want []int64
	}{
		{Filter{}, []int64{1, 2, 3, 4, 5}},
		{Filter{Newest: true, Limit: 2}, []int64{5, 4}},
		{Filter{Style: "cloak", Newest: true}, []int64{3, 1}},
		{Filter{Style: "0%"}, []int64{1}},
		{Filter{Style: "t_a"}, []int64{2}},
		{Filter{Style: `o\s`}, []int64{5}},
		{Filter{Device: "knife-table", Newest: true}, []int64{4, 2}},
		{Filter{Since: time.Date(2026, 3, 4, 8, 0, 0, 0, time.UTC), Device: "roll-plotter"}, []int64{3, 5}},
		{Filter{Unended: true}, []int64{1, 2, 4, 5}},
		{Filter{EndedBefore: now.Add(time.Second), Whole: true}, []int64{3}},
		{Filter{EndedBefore: now}, []int64{}},
		{Filter{Pruning: true}, []int64{}},
	} {
		if jobs, err := l.Jobs(t.Context(), c.f); err != nil || !slices.Equal(numbers(jobs), c.want) {
			t.Errorf("%+v gives %v, %v", c.f, numbers(jobs), err)
		}
	}
}

// TestUnreadableRow: a row that cannot be read hides no other. Of an ended job it hinders nobody; one that
// has not ended is an error for the daemon, and a line of the list for people.
func TestUnreadableRow(t *testing.T) {
	for _, damage := range []string{"received = 'in May'", "answers = '{'", "released = 7", "state = 'unheard'", "ended = 'x'"} {
		t.Run(damage, func(t *testing.T) {
			l := openTest(t)
			for range 3 {
				arrive(t, l, "x")
			}
			spoil := func(id int64) {
				// With a sum of its own the row is what was written, and cannot be read all the same.
				if _, err := l.db.Exec("UPDATE jobs SET "+damage+" WHERE id = ?; "+SumJobs, id); err != nil {
					t.Fatal(err)
				}
			}
			spoil(2)
			jobs, err := l.Jobs(t.Context(), Filter{Faulty: true, Newest: true})
			if err != nil || !slices.Equal(numbers(jobs), []int64{3, 2, 1}) {
				t.Fatalf("%v, %v", numbers(jobs), err)
			}
			if bad := jobs[1]; bad.Fault == "" || bad.File != "f2.svg" || bad.Device != "roll-plotter" || jobs[0].Fault != "" {
				t.Errorf("%+v", bad)
			}
			jobs, err = l.Jobs(t.Context(), Filter{})
			if err == nil || !strings.Contains(err.Error(), "job 2") || len(jobs) != 2 {
				t.Errorf("one that has not ended: %v, %v", numbers(jobs), err)
			}
			if _, err = l.Job(t.Context(), 2); err == nil || !strings.Contains(err.Error(), "from a copy") {
				t.Errorf("%v", err)
			}
			if strings.Contains(damage, "state") {
				return
			}
			if err := move(l, 3, Canceled); err != nil {
				t.Fatal(err)
			}
			spoil(3)
			if _, err := l.db.Exec("UPDATE jobs SET " + strings.NewReplacer("in May", "2026-03-01T08:00:00.000Z", "'{'", "'{}'", "7", "0", "'x'", "''").Replace(damage) + " WHERE id = 2; " + SumJobs); err != nil {
				t.Fatal(err)
			}
			if jobs, err = l.Jobs(t.Context(), Filter{}); err != nil || !slices.Equal(numbers(jobs), []int64{1, 2}) {
				t.Errorf("an ended one: %v, %v", numbers(jobs), err)
			}
		})
	}
}

// TestNextIsFoundByIndex: what a device's worker asks at each step walks neither through all jobs that wait
// nor through all that are made.
func TestNextIsFoundByIndex(t *testing.T) {
	l := openTest(t)
	for _, f := range []Filter{{Ready: true}, {Unready: true}} {
		f.Device, f.States, f.Limit, f.Faulty = "roll-plotter", []State{Pending}, 1, true
		f.Turn = true
		where, args := f.where()
		var plan string
		err := l.look.QueryRowContext(t.Context(), "EXPLAIN QUERY PLAN SELECT * FROM jobs j WHERE "+where+" ORDER BY j.rank DESC, j.id LIMIT 1", args...).Scan(new(int), new(int), new(int), &plan)
		if err != nil || !strings.Contains(plan, "jobs_waiting (device=? AND ready=?)") {
			t.Errorf("%q, %v", plan, err)
		}
	}
}

// BenchmarkNext asks, as a device's worker does at each step, for the next job to be made while 10,000 jobs of
// the device are made already and wait, and for the next to be sent while as many are not made yet.
func BenchmarkNext(b *testing.B) {
	for _, c := range []struct {
		name   string
		ready  int
		filter Filter
	}{{"made", 1, Filter{Unready: true}}, {"sent", 0, Filter{Ready: true}}} {
		b.Run(c.name, func(b *testing.B) {
			l := openTest(b)
			var all []Arrival
			for range 10000 {
				id := l.Reserve()
				all = append(all, Arrival{ID: id, Device: "roll-plotter", File: "cape.svg", Files: []File{{Name: "original.svg", SHA256: fmt.Sprint(id)}}})
			}
			if _, err := l.EnterAll(b.Context(), all); err != nil {
				b.Fatal(err)
			}
			if _, err := l.db.Exec("UPDATE jobs SET ready = ?", c.ready); err != nil {
				b.Fatal(err)
			}
			if _, err := l.db.Exec(SumJobs); err != nil {
				b.Fatal(err)
			}
			f := c.filter
			f.Device, f.States, f.Limit, f.Faulty = "roll-plotter", []State{Pending}, 1, true
			f.Turn = true
			for b.Loop() {
				if jobs, err := l.Jobs(b.Context(), f); err != nil || len(jobs) > 0 {
					b.Fatal(len(jobs), err)
				}
			}
		})
	}
}

// TestNamesAreSoughtInTheirIndex: a part of a name is sought in an index that holds the names and numbers alone
// (https://www.sqlite.org/eqp.html), so that a search that finds nothing reads no job; and what it finds are the jobs whose
// names hold the part, small or capital, and signs of a pattern as themselves.
func TestNamesAreSoughtInTheirIndex(t *testing.T) {
	l := openTest(t)
	for _, column := range []string{"style", "wearer", "production"} {
		steps, err := rowsOf(t.Context(), l.look, kind[string]{"EXPLAIN QUERY PLAN " + namesLike(column), func(rows *sql.Rows, detail *string) error {
			var id, parent, unused int
			return rows.Scan(&id, &parent, &unused, detail)
		}}, "%x%")
		plan := strings.Join(steps, "; ")
		if want := "SEARCH jobs USING COVERING INDEX jobs_" + column; err != nil || strings.Count(plan, want) != 2 || strings.Contains(plan, "SCAN jobs") {
			t.Errorf("%s: %q, %v; want %q for the first name and the next", column, plan, err, want)
		}
	}
	styles := []string{"", "Doublet", "doublet, short", "50 % wool", "50 wool", "a_b", "axb"}
	for i, style := range styles {
		j, err := l.Enter(t.Context(), Arrival{ID: l.Reserve(), Device: "d", File: fmt.Sprintf("%d.svg", i), Files: []File{{Name: "original.svg", Size: 1, SHA256: strings.Repeat("0", 64)}}})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := l.Change(t.Context(), j.ID, func(j *Job) (Step, error) { j.Style = style; return Step{Kind: "test"}, nil }); err != nil {
			t.Fatal(err)
		}
	}
	for _, part := range []string{"DOUBLET", "doublet", " % ", "a_b", "none of these", "w"} {
		var want []string
		for _, style := range styles {
			if strings.Contains(strings.ToLower(style), strings.ToLower(part)) {
				want = append(want, style)
			}
		}
		jobs, err := l.Jobs(t.Context(), Filter{Style: part})
		var got []string
		for _, j := range jobs {
			got = append(got, j.Style)
		}
		if err != nil || !slices.Equal(got, want) {
			t.Errorf("%q: %q, %v; want %q", part, got, err, want)
		}
	}
}
