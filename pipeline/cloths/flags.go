package cloths

import (
	"errors"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"tracewheel/devices"

	"tracewheel/pipeline/pattern"
)

// Flags are a Wish as written on a command line.
type Flags struct {
	Width, Length, Gap, Margin string
	Fold, Nap, Turns           string
	Bodies, Out, Patterns      string
	Material                   string
	Remnant                    int64
	Seconds                    float64
	Steps                      int
	Seed                       uint64
}

// Read reads the flags; the error names the flag.
func (f *Flags) Read() (w Wish, err error) {
	w = Wish{Material: f.Material, On: f.Remnant, Steps: f.Steps, Seed: f.Seed, Time: time.Duration(f.Seconds * float64(time.Second))}
	for _, l := range []struct {
		name, said string
		to         *float64
	}{{"width", f.Width, &w.Width}, {"length", f.Length, &w.Length}, {"gap", f.Gap, &w.Gap}, {"margin", f.Margin, &w.Margin}} {
		if l.said == "" {
			continue
		}
		if *l.to, err = pattern.ParseLength(l.said); err != nil {
			return w, fmt.Errorf("--%s: %w", l.name, err)
		}
		if pattern.Bare(l.said) {
			w.Bare = append(w.Bare, "--"+l.name+" "+strings.TrimSpace(l.said))
		}
		if *l.to > 1e6 || (*l.to == 0 && (l.name == "width" || l.name == "length")) {
			return w, fmt.Errorf("--%s %s is no %s of cloth", l.name, l.said, l.name)
		}
	}
	if f.Remnant < 0 || f.Remnant > 0 && (f.Width != "" || f.Length != "") {
		return w, errors.New("--remnant is the number of one that tracewheel stock lists, which has its own width and length: leave --width and --length out")
	}
	if w.Fold, err = pattern.ReadFolding(f.Fold); err != nil {
		return w, fmt.Errorf("--fold: %w", err)
	}
	if f.Nap != "" {
		if w.Nap, err = pattern.ReadNap(f.Nap); err != nil {
			return w, fmt.Errorf("--nap: %w", err)
		}
	}
	for _, t := range Words(f.Turns) {
		deg, err := strconv.ParseFloat(t, 64)
		if err != nil || math.Abs(deg) > 360 {
			return w, fmt.Errorf("--turns: %q is no turn in degrees", t)
		}
		w.Turns = append(w.Turns, deg)
	}
	if f.Steps < 0 || !(f.Seconds >= 0 && f.Seconds <= 86400) {
		return w, errors.New("--seconds is 0 to 86400, --steps 0 or more")
	}
	if ext := strings.ToLower(filepath.Ext(f.Out)); f.Out != "" && ext != ".svg" && ext != ".png" {
		return w, errors.New("--out names a picture that ends in .svg or .png")
	}
	w.Once = f.Patterns == string(devices.PatternsOnce)
	return w, devices.PatternsKnown(f.Patterns)
}

// Long is the help of the command that lays.
const Long = "Lay lays the pieces of drafts on cloth, each cloth of a draft on its own, and says what length is laid and what is to be bought: " +
	"laid / (1 - shrinkage), 3 cm (1 1/4 in) for each cut end, rounded up to the shop's step. Width, nap, fold and shrinkage are the draft's unless a flag says otherwise; " +
	"selvedges, flaws, step and price are those of the workroom's material of that name. Lengths are in mm, cm, m or in, with fractions; a bare number is mm. " +
	"Pieces on the fold lie on a folded edge, pairs come from two layers, and lone pieces are laid last on the cloth opened out; without --fold the fold that takes least is found. " +
	"It compares other widths and names what would save cloth: another width or fold, a hem up to 5 cm shorter, a strip or a facing in two. " +
	"With --length it says whether the pieces fit on what is at hand, by how much not, and what would make them fit. " +
	"Where a workroom keeps stock, it names the remnants of the cloth's material that hold the pieces; --remnant lays them on one.\n\n" +
	"The search goes on for --seconds and gets better meanwhile; Ctrl-C ends it with the best lay so far. --steps instead gives the same lay for the same --seed.\n\n" +
	"In JSON there is a line for each cloth. The strip is 0..length_mm along x and 0..width_mm along y, folded cloth opened out. " +
	"Each placement has the piece, which copy of it, of which garment (counted from 1) and in which size or for which body, rotation_deg (counter-clockwise, from how the draft shows it with y up), whether it is mirrored, and outline_mm, the placed cut line itself. " +
	"cutouts_mm, where a piece has openings, are their placed lines; other pieces may lie in them. " +
	"savings are what would take less cloth, each with to_buy_mm and the square metres that are bought less (less_m2); at_other_widths is what is laid and bought there; fits_remnants are the remnants that hold the pieces."

// Words splits at commas; a name may contain blanks.
func Words(s string) []string {
	var out []string
	for w := range strings.SplitSeq(s, ",") {
		if w = strings.TrimSpace(w); w != "" {
			out = append(out, w)
		}
	}
	return out
}

// File is a file to be written.
type File struct {
	File string
	Data []byte
}

// Pictures draws the lays, the first under the given name, other cloths with their names added; none for "". Where
// some cloths are too short, it draws those.
func (l *Layout) Pictures(out string) ([]File, error) {
	if out == "" {
		return nil, nil
	}
	var files []File
	ext := filepath.Ext(out)
	all, main := l.Cloths, l.Main()
	if len(all) == 0 {
		all, main = l.Short, 0
	}
	for i, c := range all {
		data, err := l.Picture(c, ext)
		if err != nil {
			return nil, err
		}
		to := out
		if i != main {
			to = strings.TrimSuffix(out, ext) + "-" + fileWord(l.Title(c)) + ext
		}
		files = append(files, File{to, data})
	}
	return files, nil
}

// fileWord keeps the characters of a cloth's name that are allowed in a file's name.
func fileWord(name string) string {
	return strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' {
			return r
		}
		return '-'
	}, name)
}

// TellProgress prints shorter lays as they are found, at most once a second.
func TellProgress(w io.Writer) func(cloth, length string) {
	last := time.Now()
	return func(cloth, length string) {
		if time.Since(last) < time.Second {
			return
		}
		last = time.Now()
		fmt.Fprintf(w, "%s: %s so far\n", pattern.Printable(cloth), length)
	}
}
