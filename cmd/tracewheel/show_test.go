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
	if err := a.show(id, false); !errors.Is(err, ledger.ErrRow) || !strings.Contains(out.String(), "taken from the inbox") {
		t.Errorf("%v: %s", err, out.String())
	}
}
