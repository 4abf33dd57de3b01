package daemon_test

import (
	"bytes"
	"context"
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
	"tracewheel/pipeline/verify"
)

// change alters one file of a job or what the ledger holds of it, and gives what brings it back.
func (x *changed) change(j ledger.Job, when string) (file, what string, undo func()) {
	names := []string{j.Original, j.Ticket, store.ProgramBytes, store.ProgramIndex}
	if when == "asked" { // no program is made yet
		names = names[:2]
	}
	file = names[x.rng.IntN(len(names))]
	path := filepath.Join(x.h.Settings.Store, "jobs", strconv.FormatInt(x.id, 10), file)
	data, err := os.ReadFile(path)
	if err != nil {
		x.t.Error(err)
		return file, "", func() {}
	}
	put := func(data []byte) {
		if err := os.WriteFile(path, data, 0o644); err != nil {
			x.t.Error(err)
		}
	}
	alter := func(change, back string) func() {
		x.sql(change)
		return func() { x.sql(back) }
	}
	row := fmt.Sprintf("WHERE job = %d AND name = '%s'", x.id, file)
	other := slices.Clone(data)
	switch what = []string{"byte", "byte", "byte", "bytes", "shorter", "longer", "gone", "sum", "size"}[x.rng.IntN(9)]; what {
	case "byte":
		other[x.rng.IntN(len(other))] ^= byte(1 << x.rng.IntN(8))
	case "bytes":
		for i := range 2 + x.rng.IntN(8) {
			other[x.rng.IntN(len(other))] += byte(1 + i)
		}
		if bytes.Equal(other, data) {
			other[0]++
		}
	case "shorter":
		other = other[:x.rng.IntN(len(other))]
	case "longer":
		other = append(other, byte(x.rng.IntN(256)))
	case "gone":
		if err := os.Remove(path); err != nil {
			x.t.Error(err)
		}
		return file, what, func() { put(data) }
	case "sum":
		at := 1 + x.rng.IntN(64)
		return file, what, alter("UPDATE files SET sha256 = "+turned("sha256", at)+row, "UPDATE files SET sha256 = "+turned("sha256", at)+row)
	case "size":
		by := 1 + x.rng.IntN(200)
		return file, what, alter(fmt.Sprintf("UPDATE files SET size = size + %d %s", by, row), fmt.Sprintf("UPDATE files SET size = size - %d %s", by, row))
	}
	put(other)
	return file, what, func() { put(data) }
}

// turned is SQL that turns one hexadecimal digit of a text into another, and back again.
func turned(column string, at int) string {
	return fmt.Sprintf("substr(%[1]s, 1, %[2]d) || substr('fedcba9876543210', instr('0123456789abcdef', substr(%[1]s, %[3]d, 1)), 1) || substr(%[1]s, %[4]d) ",
		column, at-1, at, at+1)
}

func (x *changed) sql(statement string) {
	var err error
	for range 100 { // the daemon writes as well
		if err = x.h.Damage(statement); err == nil {
			return
		}
		time.Sleep(10 * time.Millisecond)
	}
	x.fault("%v", err)
}

// changeRow changes one column of what the ledger holds of a job or of its sending, as a damaged disk
// would. Nothing is sent of it, each wish is refused and says what mends it, and brought back the job
// goes on.
func (x *changed) changeRow(when string) string {
	table, key := "jobs", "id"
	if (when == "running" || when == "stopped") && x.rng.IntN(2) == 0 {
		table, key = "sends", "job"
	}
	column, undo := x.damageRow(table, key)
	what := table + "." + column
	jobs, ctx := x.h.Daemon.Jobs(), context.Background()
	answers := map[string]string(nil)
	if when == "asked" {
		answers = map[string]string{"allowance": "10mm"}
	}
	refused := func(wish string, err error) {
		if err == nil {
			x.fault("%s: %s is met", what, wish)
			return
		}
		for _, want := range []string{fmt.Sprintf("job %d", x.id), "bring the ledger back from a copy"} {
			if column != "id" && !strings.Contains(err.Error(), want) {
				x.fault("%s: %s does not say %q: %v", what, wish, want, err)
			}
		}
	}
	if column != "id" {
		x.verifyRow(what)
		_, err := jobs.Job(ctx, x.id)
		refused("show", err)
	}
	switch when {
	case "asked", "waiting":
		refused("release", jobs.Release(ctx, x.id, answers, control.BedClear))
		refused("hold", jobs.Hold(ctx, x.id))
		x.sent(0)
		undo()
		x.release(answers)
		if answers != nil {
			x.h.Until("it is made", func() bool { j := x.h.Job(x.id); return j.State == ledger.Held && j.Ready })
			x.release(nil)
		}
	case "running": // what was compared goes on, and its end is written once the row is as it was
		x.m.end(x.id)
		time.Sleep(30 * time.Millisecond)
		undo()
	case "stopped":
		for _, from := range []string{"start", "piece", ""} {
			refused("resume "+from, jobs.Resume(ctx, x.id, from, control.BedClear))
		}
		refused("cancel", jobs.Cancel(ctx, x.id))
		x.sent(0)
		undo()
		if err := jobs.Resume(ctx, x.id, "start", control.BedClear); err != nil {
			x.fault("brought back it does not go on: %v", err)
		}
	}
	x.h.Becomes(x.id, ledger.Completed)
	x.sent(1)
	return what
}

// damageRow changes one byte of one column, or sets a state that lets the job go, and gives what brings
// it back.
func (x *changed) damageRow(table, key string) (column string, undo func()) {
	db, err := sql.Open("sqlite", store.LedgerPath(x.h.Settings.Store)+"?_pragma=busy_timeout(10000)")
	if err != nil {
		x.t.Fatal(err)
	}
	defer db.Close() //nolint:errcheck // only read
	var names, was string
	err = db.QueryRow("SELECT group_concat(name) FROM pragma_table_info(?) WHERE name <> 'sum'", table).Scan(&names)
	columns := strings.Split(names, ",")
	column = columns[x.rng.IntN(len(columns))]
	if err == nil {
		err = db.QueryRow(fmt.Sprintf("SELECT quote(%s) FROM %s WHERE %s = %d", column, table, key, x.id)).Scan(&was)
	}
	if err != nil {
		x.t.Fatal(err)
	}
	other := ""
	switch {
	case column == "state" && x.rng.IntN(2) == 0:
		other = map[string]string{"'pending-held'": "'pending'", "'processing-stopped'": "'processing'"}[was]
		if other == "" {
			other = "'pending'"
		}
	case !strings.HasPrefix(was, "'"):
		by := int64(1) << x.rng.IntN(30)
		if column == key { // none that another job has or gets
			by = 1 << 40
		}
		other = fmt.Sprintf("%s + %d", was, by)
	case was == "''":
		other = "'x'"
	default:
		text := []byte(strings.ReplaceAll(strings.Trim(was, "'"), "''", "'"))
		i := x.rng.IntN(len(text))
		if text[i] ^= 1; text[i] < ' ' || text[i] > '~' || column == "device" { // none that another machine has
			text[i] = '~'
		}
		other = "'" + strings.ReplaceAll(string(text), "'", "''") + "'"
	}
	id := x.id
	x.sql(fmt.Sprintf("UPDATE %s SET %s = %s WHERE %s = %d", table, column, other, key, id))
	at := key + fmt.Sprintf(" = %d", id)
	if column == key {
		at = key + " = " + other
	}
	return column, func() { x.sql(fmt.Sprintf("UPDATE %s SET %s = %s WHERE %s", table, column, was, at)) }
}

// verifyRow looks that `verify` names the job.
func (x *changed) verifyRow(what string) {
	led, err := ledger.Look(context.Background(), store.LedgerPath(x.h.Settings.Store))
	if err != nil {
		x.fault("%v", err)
		return
	}
	defer led.Close() //nolint:errcheck // only read
	records, err := led.Records(context.Background(), x.id-1, 1)
	if err != nil || len(records) != 1 {
		x.fault("%s: %d records, %v", what, len(records), err)
		return
	}
	problems := verify.Job(store.Look(x.h.Settings.Store), records[0])
	if !slices.ContainsFunc(problems, func(p verify.Problem) bool { return p.Job == x.id }) {
		x.fault("%s: verify does not name the job: %v", what, problems)
	}
}
