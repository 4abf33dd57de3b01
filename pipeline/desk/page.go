package desk

import (
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"tracewheel/pipeline/cloths"
	"tracewheel/pipeline/desk/cardtext"
	"tracewheel/pipeline/desk/differing"
	"tracewheel/pipeline/desk/folder"
	"tracewheel/pipeline/desk/moved"
	"tracewheel/pipeline/desk/taken"
	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/dropping"
	"tracewheel/pipeline/lessons"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/tape"
	"tracewheel/pipeline/web"
)

// read reads a draft from the folder.
func (d *Desk) read(name string) ([]byte, string, error) {
	file, err := folder.File(d.o.Drafts, name)
	if err != nil {
		return nil, "", err
	}
	text, err := folder.Read(file)
	return text, file, err
}

func (d *Desk) open(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("name")
	text, file, err := d.read(name)
	if err != nil {
		d.problem(w, r, err)
		return
	}
	q := r.URL.Query()
	p := deskPage{Name: name, Text: string(text), Version: folder.VersionOf(text), Body: q.Get("body"), With: asOpened, Said: said[q.Get("said")], fitted: q.Get("fit")}
	if body := chosenBody(r); p.Body == "" && body != "" && d.has(p, body) {
		p.Body = body
		if p.Said == "" {
			p.Said = "Drawn for " + body + ", chosen when this draft was saved here last. The words alone say otherwise."
		}
	}
	if was := d.fittedBefore(name, strings.ReplaceAll(p.Text, "\r\n", "\n"), p.Body, q.Get("was")); was != nil {
		opened, _ := json.Marshal(was) // only strings, so it cannot fail
		p.Opened = string(opened)
	}
	if id := q.Get("since"); id != "" {
		p.since(file, id)
	}
	d.page(w, r, http.StatusOK, p, nil)
}

// fittedBefore is the wish for a card before its last change, whose version is was: its pieces are drawn pale behind.
// nil where that version is not kept.
func (d *Desk) fittedBefore(name, text, card, was string) *wish {
	file, _, err := d.cardFile(card)
	if err != nil || was == "" {
		return nil
	}
	if then, kept := folder.TextOf(file, was); kept {
		return &wish{Name: name, Text: text, Body: card, Was: then}
	}
	return nil
}

// said are the messages after something was done.
var said = map[string]string{"saved": "Saved.", "card": "The measure card is kept.", "fitted": "The card is changed. What it was before is kept as an older version of the card, to be seen below at its fittings; the pieces as they were lie pale behind."}

// page fills in a draft's page; typed are measures of the form.
func (d *Desk) page(w http.ResponseWriter, r *http.Request, status int, p deskPage, typed map[string]string) {
	h := d.headWith(p.Name, p.Text)
	p.Bodies = h.bodyNames()
	p.Body, p.From = bodyOf(h, p.Body), strings.Join(drafting.SizesOf(&h.From), ", ")
	p.Cards = d.cardNames(h, p.Body)
	p.DraftUnit, p.Kinds = h.unit(), cardtext.Kinds
	card := d.cardOn(h, p.Body)
	switch p.Lacks = card.lacks; {
	case card.lacks != "":
		p.Card = cmp.Or(p.Card, p.Body)
		if typed == nil && card.last != nil {
			typed, p.Unit, p.Kind = card.last, unitOr(card.unit, h.unit()), card.kind
		}
	case card.name != "":
		p.CardSays, p.Card, p.Fittings = card.says, card.name, listedAt(p.Name, h, card.text)
		if p.Fit == nil {
			fit := newFit()
			p.Fit = &fit
		}
		if p.FitSeam == nil {
			fit := newSeamFit()
			p.FitSeam = &fit
		}
		if typed != nil && p.CardSeen != card.seen && strings.HasSuffix(p.CardSeen, " "+card.name) {
			p.CardNow = cardDiffers(card.text, typed)
		}
	}
	if card.name == "" {
		p.Fit = nil
	}
	if typed == nil {
		p.Unit, p.CardSeen = d.unitFor(h, p.Body), card.seen
	}
	var here []cardtext.Fitting
	for _, f := range p.Fittings {
		if f.Here {
			here = append(here, f.Fitting)
		}
	}
	values, kind, names := d.measuresOf(h, p.Body)
	if p.SideNames = h.ofBothSides(names); p.Fit != nil {
		p.FitNames, p.FitSeams = h.fitNames(names), h.seamsOf()
	}
	names = h.withSides(names, typed)
	p.Unkept, p.Figures = typed != nil, tape.FiguresSVG()
	if p.Kind = cmp.Or(p.Kind, kind); p.Kind == "child" && !slices.Contains(names, "height") { // by which the others are judged
		names = append(names, "height")
		slices.SortFunc(names, tape.Compare)
	}
	for _, name := range names {
		v := values[name]
		if typed != nil {
			v = typed[name]
		}
		_, of := sentence.SideOf(name)
		p.Measures = append(p.Measures, measure{Name: name, Value: v, How: howToTake(name), Tape: tape.SVG(of), New: name == p.added, Last: taken.Last(card.history, here, name, v, p.Unit, time.Now())})
	}
	in := wish{Name: p.Name, Text: p.Text, Body: p.Body, Kind: p.Kind, Unit: p.Unit, Measures: typed, Upon: p.Upon, Beside: p.Beside}
	p.Opened = openedOr(p.Opened, in)
	if was := openedWish(p.Opened); p.With == asOpened && !was.drawsAs(in) {
		in.Before = &was
	} else if slices.Contains(p.Bodies, p.With) || slices.Contains(p.Cards, p.With) {
		in.Before = &wish{Body: p.With}
	}
	p.Drawing = d.draw(r.Context(), in)
	if p.Said == said["fitted"] && p.Drawing.SVG != "" && in.Before != nil && in.Before.Was != "" {
		p.Said += " " + moved.Fitted(p.fitted, p.Drawing.lengths)
	}
	for i := range p.Measures {
		m := &p.Measures[i]
		m.Slip, m.Severity = p.Drawing.slipOf(m.Name)
	}
	shown := p.Drawing.SVG
	if shown == "" && typed != nil && !p.Drawing.Slow {
		shown = d.drawnBefore(r.Context(), p)
		p.Stale = shown != ""
	}
	p.Picture = template.HTML(shown) //nolint:gosec // drawn by this program
	if d.o.Jobs != nil {
		p.Devices = d.o.Room().DeviceNames()
		if p.Ticket.Fields == nil {
			p.Ticket = d.ticketOf(p.Body)
		}
	}
	d.show(w, r, status, p.Name, "draft.html", p)
}

// ticketOf is the form of a draft's ticket, for the body on the page.
func (d *Desk) ticketOf(body string) dropping.Ticket {
	t := dropping.TicketForm(d.o.Room()).Filled(url.Values{"say-body": {body}})
	t.Unfolded = false // no field of it is filled in yet
	return t
}

// write does what a button of the form asks: draw for a page without scripts, save, save the card, make a file.
// Unsaved text and measures always stay in the page.
func (d *Desk) write(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("name")
	text := strings.ReplaceAll(r.PostFormValue("text"), "\r\n", "\n")
	file, err := folder.File(d.o.Drafts, name)
	if err == nil && len(text) > textLimit {
		err = fmt.Errorf("the draft is larger than %d kB", textLimit>>10)
	}
	if err != nil {
		d.problem(w, r, err)
		return
	}
	p := deskPage{Name: name, Text: text, Answer: true, Version: r.PostFormValue("version"), Body: r.PostFormValue("body"), Kind: r.PostFormValue("kind"),
		CardSeen: r.PostFormValue("card-seen"), With: r.PostFormValue("with"), Opened: r.PostFormValue("opened"), Upon: r.PostFormValue("upon"), Beside: r.PostFormValue("beside") != ""}
	h := d.headWith(name, text)
	own := d.unitFor(h, bodyOf(h, p.Body))
	p.Unit = unitOr(r.PostFormValue("unit"), own)
	typed := d.typed(r, h, p, own)
	status := http.StatusOK
	switch do, wanted, _ := strings.Cut(r.PostFormValue("do"), " "); {
	case do == "save":
		err = folder.Save(file, []byte(text), p.Version)
		if errors.Is(err, folder.ErrChanged) {
			theirs, readErr := folder.Read(file)
			if readErr != nil {
				theirs = nil // the file is gone
			}
			began, kept := openedWish(p.Opened).Text, true
			if folder.VersionOf([]byte(began)) != p.Version {
				began, kept = folder.TextOf(file, p.Version)
			}
			p.Theirs, p.Version, status, err = string(theirs), folder.VersionOf(theirs), http.StatusConflict, nil
			if p.Mine = differing.Of(p.Theirs, text); kept {
				p.Since, p.Mine, p.Began = differing.Of(began, p.Theirs), differing.Of(began, text), true
			}
			if p.Theirs == "" {
				p.Refused = "since this page was opened somebody else deleted, renamed or emptied the file of this draft. Your words stand here; save once more, and they are written"
			}
			break
		}
		if err == nil {
			d.keepChoice(w, name, h, p.Body)
		}
		if err == nil && typed == nil {
			http.Redirect(w, r, "/desk/draft/"+url.PathEscape(name)+"?said=saved&body="+url.QueryEscape(p.Body), http.StatusSeeOther)
			return
		}
		if err == nil {
			p.Said, p.Version = "Saved. The measures below are not kept yet: keep them as a card, or they are gone with this page.", folder.VersionOf([]byte(text))
		}
	case do == "card":
		all := typed
		if all == nil {
			all, _, _ = d.measuresOf(h, bodyOf(h, p.Body))
		}
		var kept string
		kept, err = d.keepCard(r.PostFormValue("card"), p.Kind, p.Unit, h, all, p.CardSeen)
		var changed *changedCard
		p.Slipped = errors.As(err, new(*slipError))
		if typed = all; errors.As(err, &changed) { // the person has seen it now
			p.CardSeen = changed.seen
		} else if err == nil {
			p.Body, p.Said, typed = kept, said["card"], nil
			if now, readErr := folder.Read(file); readErr == nil && string(now) == text { // it was saved before
				d.keepChoice(w, name, h, kept)
			}
		}
		p.Card = r.PostFormValue("card")
	case do == "make":
		if err = d.make(w, r, wanted, wish{Name: name, Text: text, Body: p.Body, Kind: p.Kind, Unit: p.Unit, Measures: typed}); err == nil {
			return
		}
	case do == "renew":
		var id string
		if id, err = folder.KeepShown(file, []byte(text)); err == nil {
			http.Redirect(w, r, "/desk/draft/"+url.PathEscape(name)+"?body="+url.QueryEscape(p.Body)+"&since="+url.QueryEscape(id), http.StatusSeeOther)
			return
		}
	case do == "unit":
		if to := unitOr(r.PostFormValue("in-unit"), p.Unit); to != p.Unit {
			typed, p.Unit = cardtext.Converted(measuresIn(r), p.Unit, to), to
		}
	case do == "side":
		all := measuresIn(r)
		if p.added = h.oneSide(r.PostFormValue("side"), r.PostFormValue("side-of"), all); p.added != "" {
			typed = all
		}
	case r.PostFormValue("take") != "": // another body: its measures instead of the typed ones
		typed, p.Kind = nil, ""
	}
	if err != nil {
		p.Refused, status = d.plainPaths(err.Error()), http.StatusBadRequest
	}
	now, readErr := folder.Read(file)
	p.Unsaved = readErr != nil || string(now) != text
	d.page(w, r, status, p, typed)
}

// measuresIn are the measures of a form.
func measuresIn(r *http.Request) map[string]string {
	all := map[string]string{}
	for key, v := range r.PostForm {
		if m, is := strings.CutPrefix(key, "measure "); is {
			all[m] = v[0]
		}
	}
	return all
}

// typed are the form's measures where they differ from those of the chosen body, which are in unit; else nil.
func (d *Desk) typed(r *http.Request, h head, p deskPage, unit string) map[string]string {
	typed := measuresIn(r)
	body := bodyOf(h, p.Body)
	values, kind, _ := d.measuresOf(h, body)
	had := map[string]string{} // the form's first values, where the measures are in the draft
	if was := openedWish(p.Opened); h.tells(body) && was.Name == p.Name && was.Measures == nil {
		if then := d.headWith(p.Name, was.Text); bodyOf(then, was.Body) == body {
			had, _, _ = d.measuresOf(then, body)
		}
	}
	written := false
	for name, v := range typed {
		began, there := had[name]
		written = written || v != values[name] && !(there && v == began)
	}
	if written {
		for name, v := range values { // a measure that was added to the draft has no field yet
			if _, there := typed[name]; !there {
				typed[name] = v
			}
		}
		return typed
	}
	if (p.Kind != kind || p.Unit != unit && !h.tells(body)) && len(typed) > 0 {
		return typed
	}
	return nil
}

// made gives a file made of a saved draft, for an address that can be bookmarked.
func (d *Desk) made(w http.ResponseWriter, r *http.Request) {
	name, q := r.PathValue("name"), r.URL.Query()
	text, _, err := d.read(name)
	if err == nil {
		err = d.make(w, r, strings.TrimSpace(r.PathValue("made")+" "+q.Get("paper")), wish{Name: name, Text: string(text), Body: q.Get("body")})
	}
	if err != nil {
		d.problem(w, r, err)
	}
}

// make gives a file made of a draft: figures to chalk, sheets to print, the picture. On an error nothing was written
// yet.
func (d *Desk) make(w http.ResponseWriter, r *http.Request, wanted string, in wish) error {
	m := d.makerFor(in)
	m.Done = r.Context().Done()
	req, own := d.request(in)
	plainly := func(err error) error {
		if err == nil {
			return nil
		}
		text, mend, _ := own.plainly(err.Error(), "")
		return errors.New(text + mend)
	}
	what, paper, _ := strings.Cut(wanted, " ")
	switch what {
	case "chalk":
		var page bytes.Buffer
		if err := inPlace(r.Context(), func() error {
			_, err := m.Figures(r.Context(), &page, req, cloths.Wish{}, "html")
			return plainly(err)
		}); err != nil {
			return err
		}
		web.Printed(w, page.Bytes())
	case "toile", "sheets":
		if what == "toile" {
			req.Answers[making.AnswerToile] = "true"
		}
		wish, err := making.SheetFlags{Paper: paper}.Read()
		if err != nil {
			return err
		}
		var pages []byte
		err = inPlace(r.Context(), func() error {
			book, findings, err := m.Sheets(r.Context(), []making.Request{req}, wish)
			if err != nil {
				for _, f := range findings {
					err = fmt.Errorf("%w; %s", err, f.Message)
				}
				return plainly(err)
			}
			pages = book.PDF
			return nil
		})
		if err != nil {
			return err
		}
		web.Download(w, strings.TrimSuffix(in.Name+" "+strings.TrimPrefix(what, "sheets"), " ")+".pdf", pages)
	case "steps", "steps-file":
		p, err := d.stepsFor(r.Context(), in, m)
		if err != nil {
			return err
		}
		if what == "steps-file" {
			return d.keepSteps(w, p)
		}
		d.showSteps(w, r, p)
	case "cloth":
		p, err := d.cloth(r.Context(), in, m)
		if err != nil {
			return err
		}
		d.showCloth(w, r, p)
	case "picture":
		web.Picture(w, []byte(d.draw(r.Context(), in).SVG))
	case "reference", "tutorial", "examples", "REFERENCE.html", "TUTORIAL.html", "EXAMPLES.html": // as the pages link to each other
		file := strings.ToUpper(strings.TrimSuffix(what, ".html")) + ".html"
		page, err := d.once.made(r.Context(), file, lessons.Pages[file])
		if err != nil {
			return err
		}
		web.Linked(w, page)
	default:
		return fmt.Errorf("%q is nothing that is made of a draft: %w", what, fs.ErrNotExist)
	}
	return nil
}
