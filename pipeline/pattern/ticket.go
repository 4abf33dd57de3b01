package pattern

// Ticket says what is wanted of a draft. The zero Ticket wants every size once, as the draft's
// quantities say.
type Ticket struct {
	Sizes    []string `yaml:"sizes"`
	Copies   int      `yaml:"copies"`
	Pieces   []string `yaml:"pieces"`
	Material string   `yaml:"material"`
	// Body is the name of a measure card for a measured draft.
	Body string `yaml:"body"`
	// Allowance answers what a draft leaves unsaid: "included", or a width such as "10mm".
	Allowance string `yaml:"allowance"`
	// Unit answers for a draft whose units nobody knows: "mm", "cm" or "in".
	Unit string `yaml:"unit"`
	Note string `yaml:"note"`
}
