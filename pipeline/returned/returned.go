// Package returned names the folders in which refused files come back, and the files of sheets. It takes a job and gives
// the name, and the job's number from a name.
package returned

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"unicode"

	"tracewheel/config"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
)

// before separates a file's name from the number of its job.
const before = "-job"

// Name is the folder of a refused file: its name, and the job's number, which tells two of one name apart. Characters that
// terminals or other systems cannot use are left out.
func Name(j ledger.Job) string {
	stem := strings.Map(func(r rune) rune {
		if r == unicode.ReplacementChar || strings.ContainsRune(`<>:"/\|?*`, r) {
			return '_'
		}
		return r
	}, pattern.Printable(strings.TrimSuffix(j.File, filepath.Ext(j.File))))
	for len(stem) > 200 {
		stem = stem[:len(stem)-1]
	}
	return fmt.Sprintf("%s%s%d", strings.ToValidUTF8(stem, ""), before, j.ID)
}

// Sheets is the file in folders.made that holds the sheets of a job.
func Sheets(j ledger.Job) string { return Name(j) + sheetsEnding }

const sheetsEnding = ".pdf"

// JobOf gives the job of a folder with a name of Name, or of a file with a name of Sheets, also while it is being written;
// 0 for another name.
func JobOf(folder string) int64 {
	folder = strings.TrimSuffix(folder, sheetsEnding)
	at := strings.LastIndex(folder, before)
	if at < 0 {
		return 0
	}
	id, err := strconv.ParseInt(folder[at+len(before):], 10, 64)
	if err != nil {
		return 0
	}
	return max(id, 0)
}

// Folder is the folder of a refused job's file, report and picture, "" where there is none.
func Folder(room *config.Workroom, j ledger.Job) string {
	dir := filepath.Join(room.Path(room.Folders.Returned), Name(j))
	if st, err := os.Stat(dir); err != nil || !st.IsDir() {
		return ""
	}
	return dir
}

// SheetsLie begins the reason of a job whose sheets were written; the name of the file follows.
const SheetsLie = "the sheets lie in "

// Why gives a job's reason as it is now: its remnant may be too short since, sheets may have been moved, and in a restored
// workroom they are not there.
func Why(room *config.Workroom, j ledger.Job) string {
	if j.RemnantShort() {
		return fmt.Sprintf("remnant %d does not hold it any more: choose another one that does, or the roll: tracewheel release %d --remnant roll", j.Remnant.No, j.ID)
	}
	file, sheets := strings.CutPrefix(j.Reason, SheetsLie)
	if !sheets || room == nil {
		return j.Reason
	}
	if !filepath.IsAbs(file) { // as the daemon was started in some folder
		file = filepath.Join(room.Path(room.Folders.Made), filepath.Base(file))
	}
	if _, err := os.Stat(file); !errors.Is(err, fs.ErrNotExist) {
		return j.Reason
	}
	return fmt.Sprintf("its sheets were written to %s and are not there now: `tracewheel again %d` makes them anew", file, j.ID)
}
