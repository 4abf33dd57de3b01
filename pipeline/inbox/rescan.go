package inbox

import (
	"context"
	"errors"
	"io/fs"
	"path/filepath"
	"slices"
	"time"

	"go.uber.org/zap"
)

// rescan looks through all folders. It gives work for the taking goroutine: claims to be finished.
func (in *Inbox) rescan() (work []func(context.Context) func()) {
	in.mu.Lock()
	devices := slices.Clone(in.devices)
	in.mu.Unlock()
	in.watchRoot(devices)
	for _, device := range devices {
		if in.lookAt(device) && !in.finishing[device] {
			in.finishing[device] = true
			work = append(work, in.finishJob(device))
		}
	}
	_, lone := in.core.lone(time.Now())
	for _, take := range lone {
		in.log.Warn("a ticket lies in the inbox and no file of its name; it goes with the next one that comes",
			zap.String("device", take.Device), zap.String("file", take.Entry.Name))
	}
	return work
}

// finishJob finishes claims that a fault or a crash left. The claim of a taking that is just under way
// looks the same, but by the time this runs that one is done: there is one goroutine for both.
func (in *Inbox) finishJob(device string) func(context.Context) func() {
	return func(ctx context.Context) func() {
		jobs, err := in.taker.Finish(ctx, device)
		return func() {
			in.finishing[device] = false
			for _, job := range jobs {
				in.log.Info("taken after all", zap.String("device", device), zap.Int64("job", job))
			}
			if err != nil {
				in.fault(in.log.With(zap.String("device", device)), device, err)
				return
			}
			delete(in.faults, device)
		}
	}
}

// lookAt looks through one device's folder; claimed tells whether claims lie there.
func (in *Inbox) lookAt(device string) (claimed bool) {
	dir := in.taker.Dir(device)
	log := in.log.With(zap.String("device", device))
	if err := in.makeDir(log, device); err != nil {
		in.fault(log, dir, err)
		return false
	}
	in.watch(log, dir)
	entries, err := in.taker.FS.ReadDir(dir)
	if err != nil {
		in.fault(log, dir, err)
		return false
	}
	delete(in.faults, dir)
	var list []Entry
	for _, e := range entries {
		if _, _, _, ok := parseClaim(e.Name()); ok {
			claimed = true
			continue
		}
		if leftAlone(e.Name()) {
			continue
		}
		info, err := in.taker.FS.Lstat(filepath.Join(dir, e.Name()))
		if err != nil {
			continue // gone again since
		}
		if !info.Mode().IsRegular() {
			in.tellStrange(log, dir, e)
			continue
		}
		if !hidden(filepath.Join(dir, e.Name())) {
			list = append(list, entryOf(info))
		}
	}
	in.core.look(time.Now(), device, list)
	return claimed
}

// watch asks for a folder's events, again if it was removed and made anew.
func (in *Inbox) watch(log *zap.Logger, dir string) {
	if in.hints.Watching(dir) {
		return
	}
	if err := in.hints.Add(dir); err != nil && !errors.Is(err, fs.ErrNotExist) {
		in.fault(log, dir, err)
	}
}

// tellStrange says once what lies there and is left alone.
func (in *Inbox) tellStrange(log *zap.Logger, dir string, e fs.DirEntry) {
	path := filepath.Join(dir, e.Name())
	if in.strange[path] {
		return
	}
	in.strange[path] = true
	what := "this is no plain file and is left alone"
	switch {
	case e.IsDir():
		what = "folders are left alone: drop the files themselves"
	case e.Type()&fs.ModeSymlink != 0:
		what = "links are left alone: drop the file itself"
	}
	log.Warn(what, zap.String("file", e.Name()))
}

// watchRoot tells of files that were dropped beside the device's folders instead of into one.
func (in *Inbox) watchRoot(devices []string) {
	entries, err := in.taker.FS.ReadDir(in.taker.Root)
	if err != nil {
		return
	}
	for _, e := range entries {
		path := filepath.Join(in.taker.Root, e.Name())
		if leftAlone(e.Name()) || slices.Contains(devices, e.Name()) || in.strange[path] {
			continue
		}
		in.strange[path] = true
		if e.IsDir() {
			in.log.Warn("no device has this name, its folder is left alone",
				zap.String("folder", e.Name()), zap.Strings("devices", devices))
			continue
		}
		in.log.Warn("this lies outside the devices' folders: move it into the folder of the device that is to make it",
			zap.String("file", e.Name()), zap.Strings("devices", devices))
	}
}
