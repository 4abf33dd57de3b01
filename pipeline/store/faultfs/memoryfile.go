package faultfs

import (
	"io"
	"io/fs"
	"slices"
	"time"
)

type memFile struct {
	m    *Memory
	n    *node
	name string
	at   int
}

func (f *memFile) Read(p []byte) (int, error) {
	f.m.mu.Lock()
	defer f.m.mu.Unlock()
	if f.at >= len(f.n.data) {
		return 0, io.EOF
	}
	n := copy(p, f.n.data[f.at:])
	f.at += n
	return n, nil
}

func (f *memFile) Write(p []byte) (int, error) {
	f.m.mu.Lock()
	defer f.m.mu.Unlock()
	if err := f.m.step("write", f.name); err != nil {
		return 0, err
	}
	f.n.data = append(slices.Clone(f.n.data), p...)
	f.n.mod = f.m.now
	return len(p), nil
}

func (f *memFile) Sync() error {
	f.m.mu.Lock()
	defer f.m.mu.Unlock()
	if err := f.m.step("sync", f.name); err != nil {
		return err
	}
	f.n.durable = slices.Clone(f.n.data)
	return nil
}

func (f *memFile) Close() error { return nil }

func (f *memFile) Stat() (fs.FileInfo, error) {
	f.m.mu.Lock()
	defer f.m.mu.Unlock()
	return infoOf(f.n, f.name), nil
}

// info is a moment of a node.
type info struct {
	name string
	size int64
	mode fs.FileMode
	mod  time.Time
}

func infoOf(n *node, name string) info {
	i := info{name: name, size: int64(len(n.data)), mode: 0o644, mod: n.mod}
	if n.dir {
		i.mode = fs.ModeDir | 0o755
	}
	return i
}

func (i info) Name() string { return i.name }

func (i info) Size() int64 { return i.size }

func (i info) Mode() fs.FileMode { return i.mode }

func (i info) ModTime() time.Time { return i.mod }

func (i info) IsDir() bool { return i.mode.IsDir() }

func (i info) Sys() any { return nil }
