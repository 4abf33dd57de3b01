package pattern

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// OtherClothIn says of pieces that are cut from a material which of them name another cloth, nil for none. Pieces that
// name none, or "main", or "self", as drafts for industry do (common practice), are cut from what lies there. byTicket
// is true where the ticket names the material; has tells whether the workroom has a material of a name.
func OtherClothIn(ready []Ready, p *Pattern, material string, byTicket bool, has func(material string) bool) []Finding {
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
	mend := fmt.Sprintf("release it only if they are to be cut from %s; else cancel it, ", material)
	first, part := ClothPieces{Cloth: cloths[0], Pieces: of[cloths[0]]}, len(cloths) > 1 || len(of[cloths[0]]) < all
	switch {
	case part && has(first.Cloth):
		mend += fmt.Sprintf("and drop the draft with a ticket for each cloth, such as material: %s and %s", first.Cloth, PiecesLine(first.Pieces))
	case part:
		mend += "and drop the draft with a ticket for each cloth, such as " + PiecesLine(first.Pieces)
	case has(first.Cloth):
		mend += "and drop the draft with a ticket that says material: " + first.Cloth
	default:
		mend += fmt.Sprintf("add %s to the materials of the workroom file, and drop the draft with a ticket that says material: %[1]s", first.Cloth)
	}
	return []Finding{NewFinding(RuleOtherCloth, who+strings.Join(names, ", and ")+"; "+lies, mend)}
}

// ClothPieces are the names of the pieces that are cut from one cloth.
type ClothPieces struct {
	Cloth  string
	Pieces []string
}

// String names the cloth and its pieces.
func (c ClothPieces) String() string { return c.Cloth + " (" + strings.Join(c.Pieces, ", ") + ")" }

// ClothsOf are the cloths that pieces are cut from, in the order of the pieces. What names none is cut from "main".
func ClothsOf(ready []Ready, p *Pattern) (all []ClothPieces) {
	for _, r := range ready {
		cloth := p.DraftOf(r.Index).ClothCalled(r.Material)
		k := slices.IndexFunc(all, func(c ClothPieces) bool { return c.Cloth == cloth })
		if k < 0 {
			k, all = len(all), append(all, ClothPieces{Cloth: cloth})
		}
		if !slices.Contains(all[k].Pieces, r.Name) {
			all[k].Pieces = append(all[k].Pieces, r.Name)
		}
	}
	return all
}

// SeveralCloths tells whether the pieces of a draft are cut from more than one cloth.
func (p *Pattern) SeveralCloths() bool {
	of := func(i int) string { return p.DraftOf(i).ClothCalled(p.Pieces[i].Material) }
	for i := range p.Pieces {
		if of(i) != of(0) {
			return true
		}
	}
	return false
}

// ClothCalled is the name of the cloth that a piece is cut from which names a material, or none.
func (p *Pattern) ClothCalled(material string) string {
	if c, ok := p.ClothOf(material); ok && material == "" {
		material = c.Name
	}
	if isMain(material) {
		return ClothName("")
	}
	return material
}

// ClothCut finds the one of several cloths that a machine cuts: the one that a person has said; else the one that the
// material on the machine's bed is by its name; else, where the ticket names that material, the main one. "" where nothing
// tells.
func ClothCut(all []ClothPieces, said, material string, byTicket bool) string {
	find := func(is func(cloth string) bool) string {
		for _, c := range all {
			if is(c.Cloth) {
				return c.Cloth
			}
		}
		return ""
	}
	if said != "" {
		return find(func(cloth string) bool { return strings.EqualFold(cloth, said) })
	}
	cloth := cmp.Or(find(func(cloth string) bool { return strings.EqualFold(cloth, material) }),
		find(func(cloth string) bool { return !isMain(cloth) && meant(cloth, material) }))
	if cloth == "" && byTicket {
		cloth = find(isMain)
	}
	return cloth
}

// AskCloth asks which of several cloths a machine cuts; said is an answer that names none of them, "" for none.
func AskCloth(all []ClothPieces, said string) string {
	var ways []string
	for _, c := range all {
		ways = append(ways, clothAnswer(c.Cloth))
	}
	ask := fmt.Sprintf("the pieces are cut from several cloths: %s. A cutter's job is for one of them: release it with %s, and then make the job again for the others",
		listed(all, ""), strings.Join(ways, " or "))
	if said != "" {
		ask = fmt.Sprintf("the answer --cloth %s cannot be taken: no piece is cut from it; %s", said, ask)
	}
	return ask
}

// LeftOutCloths says of a job that cuts one of several cloths which pieces of the others it leaves out, and what makes a job
// of each, with the same ticket; and, of a draft that is no job, what a ticket for each of them says: its material where has
// tells that the workroom has one of that name, else its pieces. number is the job's, 0 for none.
func LeftOutCloths(all []ClothPieces, cut string, number int64, has func(material string) bool) Finding {
	var ways, lines []string
	for _, c := range all {
		if c.Cloth == cut {
			continue
		}
		ways = append(ways, clothAnswer(c.Cloth))
		if has(c.Cloth) {
			lines = append(lines, "material: "+c.Cloth)
		} else {
			lines = append(lines, PiecesLine(c.Pieces))
		}
	}
	job := "JOB"
	if number > 0 {
		job = strconv.FormatInt(number, 10)
	}
	f := NewFinding(RuleOtherCloth, fmt.Sprintf("only the pieces of %s are cut here; left out are those of %s", cut, listed(all, cut)),
		fmt.Sprintf("for them: tracewheel again %s %s; of a draft that is no job, a ticket that says %s", job, strings.Join(ways, " or "), strings.Join(lines, " or ")))
	f.Severity = Note
	return f
}

// clothAnswer is a cloth as a command's flag names it.
func clothAnswer(cloth string) string {
	if strings.ContainsAny(cloth, " ,;") {
		cloth = strconv.Quote(cloth)
	}
	return "--cloth " + cloth
}

// askedCloth is a cloth as a command's flag names it.
var askedCloth = regexp.MustCompile(`--cloth ("[^"]+"|[^ ;,]+)`)

// ClothsLeftOut are the cloths of which a job leaves out the pieces, as its findings name them; none for a job that is of one cloth,
// or for a machine that cuts nothing.
func ClothsLeftOut(found []Finding) (cloths []string) {
	for _, f := range found {
		if f.Rule != RuleOtherCloth || f.Severity != Note {
			continue
		}
		for _, m := range askedCloth.FindAllStringSubmatch(f.Mend, -1) {
			name := m[1]
			if said, err := strconv.Unquote(name); err == nil {
				name = said
			}
			cloths = append(cloths, name)
		}
	}
	return cloths
}

// listed names cloths with their pieces, but for one.
func listed(all []ClothPieces, but string) string {
	var names []string
	for _, c := range all {
		if c.Cloth != but {
			names = append(names, c.String())
		}
	}
	return strings.Join(names, ", ")
}

// isMain tells whether a name stands for the cloth that a garment is mostly cut from.
func isMain(cloth string) bool {
	cloth = strings.ToLower(strings.TrimSpace(cloth))
	return cloth == "" || cloth == "main" || cloth == "self"
}

// meant tells whether a cloth that a piece names is the material that it is cut from.
func meant(cloth, material string) bool {
	if isMain(cloth) {
		return true
	}
	return strings.Contains(" "+strings.ToLower(strings.TrimSpace(cloth))+" ", " "+strings.ToLower(material)+" ")
}

// OtherCloth is what findings say of that, "" for nothing: it is told again where the release is asked.
func OtherCloth(found []Finding) string {
	if i := slices.IndexFunc(found, func(f Finding) bool { return f.Rule == RuleOtherCloth && f.Severity != Note }); i >= 0 {
		return found[i].Message
	}
	return ""
}
