package store

import (
	"crypto/rand"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// versionStamp is the form of the time, in UTC, at which a version was replaced. The name of the version's file ends with
// it.
const versionStamp = "20060102-150405.000"

// Version is a text file as it was until At.
type Version struct {
	ID   string // its time, as in the file's name
	At   time.Time
	File string
}

// VersionsDir is where the old versions of a file lie.
func VersionsDir(file string) string { return filepath.Join(filepath.Dir(file), ".versions") }

// VersionAt is the version of a file that is replaced at a time.
func VersionAt(file string, at time.Time) Version {
	v, _ := VersionOf(file, at.UTC().Format(versionStamp))
	return v
}

// VersionOf gives the version of a file with an ID; is is false for a text that is no ID.
func VersionOf(file, id string) (v Version, is bool) {
	at, err := time.Parse(versionStamp, id)
	return Version{ID: id, At: at, File: filepath.Join(VersionsDir(file), versionBase(file)+id+".yaml")}, err == nil
}

// VersionNamed gives the version of a file that a name in VersionsDir stands for; is is false for another name. A version
// of "smock 2" is no version of "smock", though its name begins with that as well.
func VersionNamed(file, name string) (v Version, is bool) {
	id, begins := strings.CutPrefix(name, versionBase(file))
	id, ends := strings.CutSuffix(id, ".yaml")
	v, is = VersionOf(file, id)
	return v, is && begins && ends
}

// Versions lists the old versions of a file, the oldest first.
func Versions(file string) (all []Version, err error) {
	entries, err := os.ReadDir(VersionsDir(file))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	for _, e := range entries { // their names are their times
		if v, is := VersionNamed(file, e.Name()); is {
			all = append(all, v)
		}
	}
	return all, err
}

func versionBase(file string) string { return strings.TrimSuffix(filepath.Base(file), ".yaml") + " " }

// IsOrTemporary tells whether a file's name is one that is picks, or one that a crash left while SaveFile or SaveNew wrote such
// a file.
func IsOrTemporary(name string, is func(name string) bool) bool {
	part, begun := strings.CutPrefix(name, tempPrefix)
	if !begun {
		return is(name)
	}
	random := len(rand.Text()) + len("-")
	return is(part) || len(part) > random && is(part[random:])
}
