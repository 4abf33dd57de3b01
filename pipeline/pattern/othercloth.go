package pattern

import (
	"fmt"
	"slices"
	"strings"
)

// OtherClothIn says of pieces that are cut from a material which of them name another cloth, nil for none. Pieces that
// name none, or "main", or "self", as drafts for industry do (common practice), are cut from what lies there. byTicket
// is true where the ticket names the material.
func OtherClothIn(ready []Ready, p *Pattern, material string, byTicket bool) []Finding {
	var cloths []string
	of, all, known := map[string][]string{}, 0, map[string]bool{}
	for _, r := range ready {
		if !known[r.Name] {
			known[r.Name], all = true, all+1
		}
		cloth := r.Material
		if c, ok := p.DraftOf(r.Index).ClothOf(""); ok && cloth == "" {
			cloth = c.Name
		}
		if meant(cloth, material) {
			continue
		}
		if of[cloth] == nil {
			cloths = append(cloths, cloth)
		}
		if !slices.Contains(of[cloth], r.Name) {
			of[cloth] = append(of[cloth], r.Name)
		}
	}
	if len(cloths) == 0 {
		return nil
	}
	who, whose, lies := "the draft names ", " for its piece", "this device's material is "+material
	if len(p.Drafts) > 0 {
		who, whose = "the drafts name ", " for the piece"
	}
	if byTicket {
		lies = "the ticket has them cut from " + material
	}
	var names []string
	for _, c := range cloths {
		what := whose
		if len(of[c]) > 1 {
			what += "s"
		}
		names = append(names, c+what+" "+Grouped{Pieces: of[c]}.Where())
	}
	mend := fmt.Sprintf("release it only if they are to be cut from %s; else cancel it, and drop the draft with a ticket that says material: %s", material, cloths[0])
	if len(cloths) > 1 || len(of[cloths[0]]) < all {
		mend = fmt.Sprintf("release it only if they are to be cut from %s; else cancel it, and drop the draft with a ticket for each cloth, such as material: %s and pieces: [%s]",
			material, cloths[0], strings.Join(of[cloths[0]], ", "))
	}
	return []Finding{NewFinding(RuleOtherCloth, who+strings.Join(names, ", and ")+"; "+lies, mend)}
}

// meant tells whether a cloth that a piece names is the material that it is cut from.
func meant(cloth, material string) bool {
	cloth = strings.ToLower(strings.TrimSpace(cloth))
	if cloth == "" || cloth == "main" || cloth == "self" {
		return true
	}
	return strings.Contains(" "+cloth+" ", " "+strings.ToLower(material)+" ")
}

// OtherCloth is what findings say of that, "" for nothing: it is told again where the release is asked.
func OtherCloth(found []Finding) string {
	if i := slices.IndexFunc(found, func(f Finding) bool { return f.Rule == RuleOtherCloth && f.Severity != Note }); i >= 0 {
		return found[i].Message
	}
	return ""
}
