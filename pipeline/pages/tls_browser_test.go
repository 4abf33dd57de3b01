//go:build browser

package pages_test

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"tracewheel/pipeline/pages/browsertest"
	"tracewheel/pipeline/web/webtest"
)

const axe = "../../.ci/node_modules/axe-core/axe.min.js"

// leads has a browser find this machine by a name, as the workroom's name server would.
func leads(name string) chromedp.ExecAllocatorOption {
	return chromedp.Flag("host-resolver-rules", "MAP "+name+" 127.0.0.1")
}

// TestTLSInTheBrowser: over TLS a page of another machine's name is a secure one: it offers notifications, and its tabs share
// one stream.
func TestTLSInTheBrowser(t *testing.T) {
	r := newShownOver(t, overTLS(), webtest.NewCA(t))
	b := browsertest.Open(t, 1440, false, axe, leads("wardrobe.example"), chromedp.Flag("ignore-certificate-errors-spki-list", webtest.KeySum(r.cert)))
	entrance := strings.Replace(r.pages.Entrance(), "127.0.0.1", "wardrobe.example", 1)
	address, _, _ := strings.Cut(entrance, "/enter")
	b.Do(chromedp.Navigate(entrance), chromedp.Click(chromedp.CSS("main button")))
	b.Until("Notify me in this browser")
	tab := b.Tab()
	tab.Do(chromedp.Navigate(address + "/"))
	tab.Until("Notify me in this browser")
	r.streams(1)
}

// TestPlainInTheBrowser: without TLS browsers have no locks and no notifications at another machine (Secure Contexts, W3C):
// each page that is looked at has a stream of its own, and the page says what notifications need.
func TestPlainInTheBrowser(t *testing.T) {
	r := newShown(t, strings.NewReplacer("127.0.0.1:0", "0.0.0.0:0", "plain_http: false", "plain_http: true", "hosts: []", "hosts: [wardrobe.example]"))
	b := browsertest.Open(t, 360, true, axe, leads("wardrobe.example"))
	if !strings.HasPrefix(r.address, "http://wardrobe.example:") {
		t.Fatalf("the address is %s", r.address)
	}
	b.Do(chromedp.Navigate(r.pages.Entrance()), chromedp.Click(chromedp.CSS("main button")))
	b.Until("Notifications need a page that nobody else can read")
	b.Until("This page comes without encryption")
	b.Sound("plain-360")
	tab := b.Tab()
	tab.Do(chromedp.Navigate(r.address + "/"))
	tab.Until("No jobs yet")
	r.streams(2)
	hide(true, tab)
	r.streams(1)
	r.drop("roll-plotter", "refused.svg", []byte("<svg"), "")
	b.Until("refused.svg")
	hide(false, tab)
	tab.Until("refused.svg")
}
