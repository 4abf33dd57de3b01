package faultfs

import (
	"errors"
	"io/fs"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"tracewheel/pipeline/store"
)

// Memory is a file system that knows what a power cut leaves: a file's content as it was at its last
// Sync, and in each folder the names that were there at its last SyncDir. Of what came later chance
// decides: a file's newer content is there or not, and a folder's changes up to any one of them, each
// whole (rename is atomic on the journalling file systems that this runs on). Paths are absolute.
type Memory struct {
	mu   sync.Mutex
	root *node
	now  time.Time
	// StopAfter makes every operation fail from the one of that number on, counted from 1; 0 never.
	StopAfter int
	count     int
	// Writers answers NoWriter for a file of that name; nil says that nobody writes.
	Writers func(name string) error
}

var _ store.FS = (*Memory)(nil)

// ErrStopped is what operations give after the power was cut.
var ErrStopped = errors.New("the power is cut")

// node is a file or a folder. A folder's names point to nodes; what of them is durable is kept apart.
type node struct {
	dir           bool
	data, durable []byte
	names, kept   map[string]*node
	// later are the states of the folder since its last SyncDir, one for each change.
	later []map[string]*node
	mod   time.Time
}

// changed notes a change of a folder's names.
func (n *node) changed() { n.later = append(n.later, maps.Clone(n.names)) }

func newDir() *node {
	return &node{dir: true, names: map[string]*node{}, kept: map[string]*node{}}
}

// NewMemory is an empty file system.
func NewMemory() *Memory {
	return &Memory{root: newDir(), now: time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)}
}

// Count is how many operations were done.
func (m *Memory) Count() int {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.count
}

// Crash gives the file system as it is after a power cut. What was not synced is there or not as rnd
// says; nil takes the worst, that nothing of it is.
func (m *Memory) Crash(rnd *rand.Rand) *Memory {
	m.mu.Lock()
	defer m.mu.Unlock()
	luck := func() bool { return rnd != nil && rnd.IntN(2) == 0 }
	pick := func(n int) int {
		if rnd == nil {
			return 0
		}
		return rnd.IntN(n + 1)
	}
	return &Memory{root: crashed(m.root, luck, pick, map[*node]*node{}), now: m.now.Add(time.Minute)}
}

func crashed(n *node, luck func() bool, pick func(int) int, done map[*node]*node) *node {
	if c := done[n]; c != nil {
		return c
	}
	c := &node{dir: n.dir, mod: n.mod}
	done[n] = c
	if !n.dir {
		c.data = slices.Clone(n.durable)
		if luck() {
			c.data = slices.Clone(n.data)
		}
		c.durable = slices.Clone(c.data)
		return c
	}
	c.names, c.kept = map[string]*node{}, map[string]*node{}
	left := n.kept
	if i := pick(len(n.later)); i > 0 {
		left = n.later[i-1]
	}
	for _, name := range slices.Sorted(maps.Keys(left)) {
		c.names[name] = crashed(left[name], luck, pick, done)
		c.kept[name] = c.names[name]
	}
	return c
}

// step counts an operation and fails it when the power is off.
func (m *Memory) step(op, name string) error {
	m.count++
	m.now = m.now.Add(time.Millisecond)
	if m.StopAfter > 0 && m.count >= m.StopAfter {
		return &fs.PathError{Op: op, Path: name, Err: ErrStopped}
	}
	return nil
}

func (m *Memory) find(name string) *node {
	n := m.root
	for _, part := range strings.Split(strings.Trim(filepath.ToSlash(filepath.Clean(name)), "/"), "/") {
		if part == "" {
			continue
		}
		if n == nil || !n.dir {
			return nil
		}
		n = n.names[part]
	}
	return n
}

func (m *Memory) parent(name string) (*node, string) {
	return m.find(filepath.Dir(name)), filepath.Base(name)
}

func missing(op, name string) error { return &fs.PathError{Op: op, Path: name, Err: fs.ErrNotExist} }

// OpenFile opens, makes or empties a file.
func (m *Memory) OpenFile(name string, flag int, _ fs.FileMode) (store.File, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if err := m.step("open", name); err != nil {
		return nil, err
	}
	dir, base := m.parent(name)
	if dir == nil {
		return nil, missing("open", name)
	}
	n := dir.names[base]
	if n == nil {
		if flag&os.O_CREATE == 0 {
			return nil, missing("open", name)
		}
		n = &node{mod: m.now}
		dir.names[base] = n
		dir.changed()
	}
	if flag&os.O_TRUNC != 0 {
		n.data, n.mod = nil, m.now
	}
	return &memFile{m: m, n: n, name: base}, nil
}

// Mkdir makes a folder.
func (m *Memory) Mkdir(name string, _ fs.FileMode) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	if err := m.step("mkdir", name); err != nil {
		return err
	}
	dir, base := m.parent(name)
	if dir == nil {
		return missing("mkdir", name)
	}
	if dir.names[base] != nil {
		return &fs.PathError{Op: "mkdir", Path: name, Err: fs.ErrExist}
	}
	dir.names[base] = newDir()
	dir.changed()
	return nil
}

// Rename moves a name.
func (m *Memory) Rename(from, to string) error { return m.rename(from, to, true) }

// RenameNew moves a name, unless the new one is taken.
func (m *Memory) RenameNew(from, to string) error { return m.rename(from, to, false) }

func (m *Memory) rename(from, to string, replace bool) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	if err := m.step("rename", from); err != nil {
		return err
	}
	a, abase := m.parent(from)
	b, bbase := m.parent(to)
	if a == nil || b == nil || a.names[abase] == nil {
		return missing("rename", from)
	}
	if !replace && b.names[bbase] != nil {
		return &fs.PathError{Op: "rename", Path: to, Err: fs.ErrExist}
	}
	b.names[bbase] = a.names[abase]
	delete(a.names, abase)
	b.changed()
	if a != b {
		a.changed()
	}
	return nil
}

// Remove removes a file or an empty folder.
func (m *Memory) Remove(name string) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	if err := m.step("remove", name); err != nil {
		return err
	}
	dir, base := m.parent(name)
	if dir == nil || dir.names[base] == nil {
		return missing("remove", name)
	}
	if n := dir.names[base]; n.dir && len(n.names) > 0 {
		return &fs.PathError{Op: "remove", Path: name, Err: errors.New("the folder is not empty")}
	}
	delete(dir.names, base)
	dir.changed()
	return nil
}

// Lstat looks at a name.
func (m *Memory) Lstat(name string) (fs.FileInfo, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	n := m.find(name)
	if n == nil {
		return nil, missing("lstat", name)
	}
	return infoOf(n, filepath.Base(name)), nil
}

// ReadDir lists a folder by name.
func (m *Memory) ReadDir(name string) ([]fs.DirEntry, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	n := m.find(name)
	if n == nil || !n.dir {
		return nil, missing("readdir", name)
	}
	var list []fs.DirEntry
	for base, child := range n.names {
		list = append(list, fs.FileInfoToDirEntry(infoOf(child, base)))
	}
	slices.SortFunc(list, func(a, b fs.DirEntry) int { return strings.Compare(a.Name(), b.Name()) })
	return list, nil
}

// Rights does nothing: everything here is one user's.
func (m *Memory) Rights(string, int, fs.FileMode) error { return nil }

// NoWriter says what Writers was set to say.
func (m *Memory) NoWriter(name string) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	n := m.find(name)
	switch {
	case n == nil:
		return missing("lease", name)
	case m.Writers != nil:
		return m.Writers(filepath.Base(name))
	}
	return nil
}

// SyncDir makes a folder's names durable.
func (m *Memory) SyncDir(name string) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	if err := m.step("syncdir", name); err != nil {
		return err
	}
	n := m.find(name)
	if n == nil {
		return missing("syncdir", name)
	}
	n.kept, n.later = maps.Clone(n.names), nil
	return nil
}

// Put writes a file as another program does, synced or not.
func (m *Memory) Put(name, content string, synced bool) error {
	if err := store.MakeDirs(m, filepath.Dir(name), 0o755); err != nil {
		return err
	}
	f, err := m.OpenFile(name, os.O_CREATE|os.O_TRUNC, 0o644)
	if err != nil {
		return err
	}
	if _, err := f.Write([]byte(content)); err != nil || !synced {
		return err
	}
	return errors.Join(f.Sync(), m.SyncDir(filepath.Dir(name)))
}

// Files lists every file with its content.
func (m *Memory) Files() map[string]string {
	m.mu.Lock()
	defer m.mu.Unlock()
	all := map[string]string{}
	var walk func(string, *node)
	walk = func(path string, n *node) {
		if !n.dir {
			all[path] = string(n.data)
		}
		for name, child := range n.names {
			walk(path+"/"+name, child)
		}
	}
	walk("", m.root)
	return all
}
