package desk

import (
	"net/http"
	"net/url"
)

// choiceCookie holds the body or card with which a browser last saved a draft, under the draft's address.
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

// has reports whether a draft has a body or a card of that name.
func (d *Desk) has(p deskPage, body string) bool {
	h := d.headWith(p.Name, p.Text)
	if body == bodyOf(h, "") {
		return false // the one that is drawn by default
	}
	_, _, err := d.cardFile(body)
	return h.tells(body) || err == nil
}

// keepChoice stores in the browser the body of a draft when it is saved, where the draft itself names another one, so
// that the draft is not drawn and printed for another person when it is opened again.
func (d *Desk) keepChoice(w http.ResponseWriter, name string, h head, body string) {
	c := http.Cookie{Name: choiceCookie, Value: url.QueryEscape(body), Path: "/desk/draft/" + url.PathEscape(name), MaxAge: 365 * 24 * 3600, HttpOnly: true, SameSite: http.SameSiteStrictMode}
	if body == "" || body == bodyOf(h, "") {
		c.Value, c.MaxAge = "", -1
	}
	http.SetCookie(w, &c)
}
