package main

import (
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"tracewheel/config"
	"tracewheel/pipeline/backup"
	"tracewheel/pipeline/verify"
)

func (a *app) backupCmd() *cobra.Command {
	return &cobra.Command{
		Use: "backup FILE", Short: "copy ledger, drafts, cards and workroom file into one archive", Args: cobra.ExactArgs(1),
		Long: "Backup writes a tar archive with a sum of each file, for its owner alone. The daemon may run meanwhile.\n" +
			"Keep the archive on another disk: it holds body measures.",
		Example: "  tracewheel backup /media/stick/wardrobe-monday.tar",
		RunE:    func(_ *cobra.Command, args []string) error { return a.backup(args[0]) },
	}
}

func (a *app) backup(file string) error {
	room, fault := a.whereabouts()
	if room == nil {
		return fault
	}
	nameRoom(a.out, room)
	c, err := backup.Take(a.ctx, backup.Room{File: room.File, Store: room.Path(room.Folders.Store), Cards: room.Path("cards"), Inbox: room.Path(room.Folders.Inbox)}, file, time.Now())
	if err != nil {
		return refused(err)
	}
	a.done("%s", c.Said(file))
	a.allTheSame(fault)
	fmt.Fprint(a.err, c.Cautions())
	if len(c.Faults) > 0 {
		return refused(errSaid)
	}
	return nil
}

func (a *app) restoreCmd() *cobra.Command {
	return &cobra.Command{
		Use: "restore FILE DIR", Short: "bring a copy back into an empty folder", Args: cobra.ExactArgs(2),
		Long: "Restore compares every file of a copy with its sum before it writes the first, into an empty folder only.\n" +
			"Each job that had not ended is stopped then: nobody knows what was sent since the copy was taken.",
		Example: "  tracewheel restore /media/stick/wardrobe-monday.tar wardrobe\n" +
			"  tracewheel verify --config wardrobe/workroom.yaml",
		RunE: func(_ *cobra.Command, args []string) error { return a.restore(args[0], args[1]) },
	}
}

func (a *app) restore(file, dir string) error {
	r, err := backup.Restore(a.ctx, file, dir, a.err)
	if err != nil {
		return refused(err)
	}
	fmt.Fprint(a.out, r.Said(dir))
	workroom := filepath.Join(dir, "workroom.yaml")
	named := config.Whereabouts(workroom)
	if to := named.Path(named.Folders.Store); !sameFolder(to, r.Store) {
		fmt.Fprintf(a.out, "caution: %s names the store %s, and the restored one is %s: put it there, or change folders.store\n", workroom, to, r.Store)
	}
	problems := verify.Verify(r.Store)
	for _, p := range problems {
		fmt.Fprintln(a.out, printable(p.String()))
	}
	if len(problems) > 0 {
		return refused(errSaid)
	}
	fmt.Fprintln(a.out, "store and ledger agree")
	return nil
}

func sameFolder(a, b string) bool {
	x, err := os.Stat(a)
	if err != nil {
		return false
	}
	y, err := os.Stat(b)
	return err == nil && os.SameFile(x, y)
}
