package desk

import (
	"net/http"
	"net/url"
)

// choiceCookie has the body or the card with which a browser saved a draft last, under the draft's own address.
const choiceCookie = "tracewheel-body"

// chosenBody is the body or card that this browser chose for a draft, "" for none.
func chosenBody(r *http.Request) string {
	c, err := r.Cookie(choiceCookie)
	if err != nil {
		return ""
	}
	body, err := url.QueryUnescape(c.Value)
	if err != nil {
		return ""
	}
	return body
}

// has tells whether a draft has a body, or finds a card, of that name.
func (d *Desk) has(p deskPage, body string) bool {
	h := d.headWith(p.Name, p.Text)
	if body == bodyOf(h, "") {
		return false // that is drawn anyway
	}
	_, _, err := d.cardFile(body)
	return h.tells(body) || err == nil
}

// keepChoice has the browser remember for whom a draft was drawn when it was saved, where its words say otherwise; so that
// opened again it is not drawn, and printed, for somebody else.
func (d *Desk) keepChoice(w http.ResponseWriter, name string, h head, body string) {
	c := http.Cookie{Name: choiceCookie, Value: url.QueryEscape(body), Path: "/desk/draft/" + url.PathEscape(name), MaxAge: 365 * 24 * 3600, HttpOnly: true, SameSite: http.SameSiteStrictMode}
	if body == "" || body == bodyOf(h, "") {
		c.Value, c.MaxAge = "", -1
	}
	http.SetCookie(w, &c)
}
