package pipeline

import (
	"errors"
	"fmt"
	"io/fs"
	"os/user"
	"path/filepath"
	"runtime"
	"strconv"

	"go.uber.org/zap"

	"tracewheel/pipeline/store"
)

// groupOf finds the group that the workroom file names; store.NoGroup for none.
func groupOf(name string) (int, error) {
	if name == "" {
		return store.NoGroup, nil
	}
	if runtime.GOOS == "windows" {
		return 0, errors.New("folders.group: this system has no such groups; leave it out and set the folders' rights by hand")
	}
	g, err := user.LookupGroup(name)
	if err != nil {
		return 0, fmt.Errorf("folders.group: there is no group %q on this system; make it (groupadd %s) and add its people, or leave it out: %w", name, name, err)
	}
	id, err := strconv.Atoi(g.Gid)
	if err == nil && id == store.NoGroup {
		err = fmt.Errorf("folders.group: %q is the superuser's own group; name one of the people who work here", name)
	}
	return id, err
}

// protect closes the store to others. Some file systems know no rights; that is told, and refused only
// where a group was asked for.
func (d *Daemon) protect() error {
	err := d.store.Protect(d.group)
	switch {
	case err == nil:
		return nil
	case d.group != store.NoGroup:
		return fmt.Errorf("folders.group: the store cannot be shared with it; is the user that tracewheel runs as its member? %w", err)
	}
	d.log.Warn("others on this machine may be able to read the store: its rights cannot be set", zap.String("stage", "start"), zap.Error(err))
	return nil
}

// share lets the group read a returned folder and all that lies in it.
func (d *Daemon) share(dir string) error {
	if d.group == store.NoGroup {
		return nil
	}
	entries, err := d.opts.FS.ReadDir(dir)
	if err != nil {
		return err
	}
	for _, e := range entries {
		if err := d.opts.FS.Rights(filepath.Join(dir, e.Name()), d.group, 0o640); err != nil {
			return err
		}
	}
	return d.opts.FS.Rights(dir, d.group, 0o750|fs.ModeSetgid)
}
