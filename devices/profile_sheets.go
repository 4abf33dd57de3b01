package devices

// Output is what becomes of the pages of a sheet printer.
type Output string

// ToFolder writes the PDF into the workroom's folder of what was made, ToQueue hands it to a print queue.
const (
	ToFolder Output = "folder"
	ToQueue  Output = "print"
)

// SheetProfile is on what a sheet printer prints, and how the pages come to it.
type SheetProfile struct {
	// Paper is as a person calls it: "a4", "letter landscape", "36in roll".
	Paper string `yaml:"paper"`
	// Margin is what stays free of ink at every edge, mm; 0 is what suits the paper.
	Margin float64 `yaml:"margin"`
	// Overlap is how wide the strip is that two sheets share, mm.
	Overlap float64 `yaml:"overlap"`
	Output  Output  `yaml:"output"`
	// Queue is the print queue by its name, Medium what the queue calls the paper; "" is its usual name.
	Queue  string `yaml:"queue"`
	Medium string `yaml:"medium"`
}

// Free is what a paper is read with: below 0 for what suits it.
func (p SheetProfile) Free() float64 {
	if p.Margin == 0 {
		return -1
	}
	return p.Margin
}
