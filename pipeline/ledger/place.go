package ledger

import (
	"encoding/json"
	"fmt"
)

// Place is where a blade stood in a stroke when it was stopped.
type Place struct {
	// Stroke counts in the job's program.
	Stroke int `json:"stroke"`
	// At is where the pivot stood, mm as sent, and Dir where it was going, of length 1.
	At  [2]float64 `json:"at"`
	Dir [2]float64 `json:"dir"`
	// Tip is true while it turned: At is the blade's tip then, and Dir zero.
	Tip bool `json:"tip,omitempty"`
	// Above is true where the blade was coming down and had not reached the cloth.
	Above bool `json:"above,omitempty"`
}

// text is what stands in the ledger, empty for nil.
func (h *Place) text() string {
	if h == nil {
		return ""
	}
	text, _ := json.Marshal(h) // which fails only for what is no number, and a place found in a program is one
	return string(text)
}

// placeOf scans what text gives.
type placeOf struct{ h **Place }

func (o placeOf) Scan(v any) error {
	*o.h = nil
	text, _ := v.(string)
	if text == "" {
		return nil
	}
	var h Place
	if err := json.Unmarshal([]byte(text), &h); err != nil {
		return fmt.Errorf("where its blade was held: %w", err)
	}
	*o.h = &h
	return nil
}
