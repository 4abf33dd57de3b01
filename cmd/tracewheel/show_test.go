package main

import (
	"bytes"
	"database/sql"
	"errors"
	"io"
	"path/filepath"
	"strings"
	"testing"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
)

// TestDamagedLineHasNoState: a line of the ledger that is not what was written is not called done.
func TestDamagedLineHasNoState(t *testing.T) {
	j := ledger.Job{ID: 24, State: ledger.Completed}
	if got := stateWords(j); got != "done" {
		t.Errorf("a sound line is %q", got)
	}
	j.Fault = "its line in the ledger is not what was written"
	if got := stateWords(j); got != ledger.Unknown {
		t.Errorf("a damaged line is %q", got)
	}
}

// TestShowTellsHowToEnd: a stopped job of which all was sent is for a person to call whole or spoilt; one that
// was cut short is to go on.
func TestShowTellsHowToEnd(t *testing.T) {
	for sent, want := range map[int64]string{100: "tracewheel whole 3, or: tracewheel spoilt 3", 60: "to go on   tracewheel resume 3"} {
		var out bytes.Buffer
		a := &app{out: &out, err: io.Discard, ctx: t.Context(), configFile: filepath.Join(t.TempDir(), "none.yaml")}
		a.printJob(ledger.Job{ID: 3, State: ledger.Stopped, Sends: 1, Send: ledger.Send{No: 1, Bytes: sent, Total: 100, End: "stopped"}}, nil, nil)
		if !strings.Contains(out.String(), want) {
			t.Errorf("%d of 100 bytes: %s", sent, out.String())
		}
	}
}

// TestShowOfADamagedLine: what its history tells of a job is shown although its own line was altered.
func TestShowOfADamagedLine(t *testing.T) {
	dir, file := newRoom(t, "")
	st, err := store.Open(filepath.Join(dir, "store"), store.Disk{})
	if err != nil {
		t.Fatal(err)
	}
	led, err := ledger.Open(t.Context(), st.LedgerPath(), nil)
	if err != nil {
		t.Fatal(err)
	}
	id := led.Reserve()
	_, err = led.Enter(t.Context(), ledger.Arrival{ID: id, Device: "roll-plotter", File: "apron.svg", Text: "taken from the inbox",
		Files: []ledger.File{{Job: id, Name: "original.svg", Size: 1, SHA256: strings.Repeat("0", 64)}}})
	if err = errors.Join(err, led.Close(), st.Close()); err != nil {
		t.Fatal(err)
	}
	db, err := sql.Open("sqlite", st.LedgerPath())
	if err != nil {
		t.Fatal(err)
	}
	_, err = db.Exec("UPDATE jobs SET file = 'leaf.svg'")
	if err = errors.Join(err, db.Close()); err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	a := &app{out: &out, err: io.Discard, ctx: t.Context(), configFile: file}
	if err := a.show(id); !errors.Is(err, ledger.ErrRow) || !strings.Contains(out.String(), "taken from the inbox") {
		t.Errorf("%v: %s", err, out.String())
	}
}
