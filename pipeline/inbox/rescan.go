package inbox

import (
	"context"
	"errors"
	"io/fs"
	"path/filepath"
	"slices"
	"time"

	"go.uber.org/zap"

	"tracewheel/pipeline/pattern"
)

// rescan looks through all folders. It gives work for the taking goroutine: claims to be completed.
func (in *Inbox) rescan() (work []func(context.Context) func()) {
	in.mu.Lock()
	devices := slices.Clone(in.devices)
	in.mu.Unlock()
	before := in.strange
	in.strange = map[place]string{}
	in.watchRoot(devices, before)
	for _, device := range devices {
		if in.lookAt(device, before) && !in.finishing[device] {
			in.finishing[device] = true
			work = append(work, in.finishJob(device))
		}
	}
	all, lone := in.core.lone(time.Now())
	in.lone, in.held = all, in.core.held()
	for _, take := range lone {
		in.log.Warn(whyLone,
			zap.String("device", take.Device), zap.String("file", take.Entry.Name))
	}
	in.prune(devices)
	in.publish()
	return work
}

// finishJob completes claims that a fault or a crash left. The claim of a taking that is going on looks the same, but that
// taking has ended when this runs, because one goroutine does both.
func (in *Inbox) finishJob(device string) func(context.Context) func() {
	return func(ctx context.Context) func() {
		jobs, err := in.taker.Finish(ctx, device)
		return func() {
			in.finishing[device] = false
			for _, job := range jobs {
				in.log.Info("taken after all", zap.String("device", device), zap.Int64("job", job))
			}
			if err != nil {
				in.fault(in.log.With(zap.String("device", device)), place{device: device, claims: true}, err)
			} else {
				delete(in.faults, place{device: device, claims: true})
			}
			in.publish()
		}
	}
}

// lookAt looks through one device's folder; claimed tells whether there are claims in it.
func (in *Inbox) lookAt(device string, before map[place]string) (claimed bool) {
	dir := in.taker.Dir(device)
	log, here := in.log.With(zap.String("device", device)), place{device: device}
	if err := in.makeDir(log, device); err != nil {
		in.fault(log, here, err)
		return false
	}
	in.watch(log, dir, here)
	entries, err := in.taker.FS.ReadDir(dir)
	if err != nil {
		in.fault(log, here, err)
		return false
	}
	delete(in.faults, here)
	var list []Entry
	for _, e := range entries {
		if _, _, _, ok := parseClaim(e.Name()); ok {
			claimed = true
			continue
		}
		if pattern.LeftAlone(e.Name()) {
			continue
		}
		info, err := in.taker.FS.Lstat(filepath.Join(dir, e.Name()))
		if err != nil {
			continue // gone again since
		}
		if !info.Mode().IsRegular() {
			in.tellStrange(log, place{device: device, name: e.Name()}, strangeWhy(info.Mode()), before)
			continue
		}
		if !hidden(filepath.Join(dir, e.Name())) {
			list = append(list, in.entry(device, info))
		}
	}
	in.core.look(time.Now(), device, list)
	return claimed
}

// watch asks for a folder's events, also after it was removed and made anew.
func (in *Inbox) watch(log *zap.Logger, dir string, here place) {
	if in.hints.Watching(dir) {
		return
	}
	if err := in.hints.Add(dir); err != nil && !errors.Is(err, fs.ErrNotExist) {
		in.fault(log, here, err)
	}
}

// tellStrange logs once what is left alone, and again when it had been gone in between.
func (in *Inbox) tellStrange(log *zap.Logger, at place, why string, before map[place]string) {
	in.strange[at] = why
	if before[at] != why {
		log.Warn(why, zap.String("file", at.name))
	}
}

// watchRoot logs files that were dropped beside the devices' folders.
func (in *Inbox) watchRoot(devices []string, before map[place]string) {
	for _, u := range outside(in.taker.FS, in.taker.Root, devices) {
		in.tellStrange(in.log, place{name: u.File}, u.Why, before)
	}
}
