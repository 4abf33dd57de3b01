package testsquare

import (
	"errors"
	"os"
	"os/user"
)

// Said is everything that a person entered about a test square on one command line, as written.
type Said struct {
	// Plot is the number of the test square, 0 for the last.
	Plot                          int
	Sides, Diagonals              []string
	CSV, Ruler, Tape              string
	Sheet                         OnPaper
	Blade                         string
	Inches, Yes                   bool
	Who, Material, Humidity, Note string
}

// Given reports whether the readings of squares come from the command line.
func (f Said) Given() bool { return len(f.Sides)+len(f.Diagonals) > 0 || f.CSV != "" }

// Fits reports whether an ordered square may be meant where no number is given.
func (f Said) Fits(o Order) bool {
	switch ladder := len(o.Ladder) > 0; {
	case f.Blade != "":
		return ladder
	case f.Given():
		return !ladder
	}
	return true
}

// Fill takes the readings from flags or a file.
func (f Said) Fill(form *Form) error {
	var errs []error
	for _, s := range f.Sides {
		errs = append(errs, form.Sides(s))
	}
	for _, s := range f.Diagonals {
		errs = append(errs, form.Diagonals(s))
	}
	if f.CSV != "" {
		file, err := os.Open(f.CSV)
		if err != nil {
			return err
		}
		defer file.Close() //nolint:errcheck // read only
		errs = append(errs, form.CSV(file))
	}
	return errors.Join(errs...)
}

// Sign records on a form who measured, and where.
func (f Said) Sign(form *Form) {
	form.Who, form.Material, form.Humidity, form.Note = NameOrLogin(f.Who), f.Material, f.Humidity, f.Note
}

// NameOrLogin is the given name, else the login name.
func NameOrLogin(name string) string {
	if name != "" {
		return name
	}
	if u, err := user.Current(); err == nil {
		return u.Username
	}
	return ""
}
