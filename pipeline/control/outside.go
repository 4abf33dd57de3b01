package control

import "tracewheel/pipeline/ledger"

// Untaken lists the files in the inbox that become no job; nil before TellInbox.
func (d *Jobs) Untaken() []ledger.Untaken {
	d.mu.Lock()
	untaken := d.untaken
	d.mu.Unlock()
	if untaken == nil {
		return nil
	}
	return untaken()
}

// TellInbox sets the function that lists the files in the inbox that become no job.
func (d *Jobs) TellInbox(untaken func() []ledger.Untaken) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.untaken = untaken
}

// What the page is asked for: its address with a code that lets one browser in; a code that lets one release cutters;
// which browsers release them; that one of them does no more.
const (
	PageEntrance = "page"
	PagePair     = "pair"
	PagePaired   = "paired"
	PageUnpair   = "unpair"
)

// TellPage sets the function that the workroom's page is asked by, with the number of a browser where one is meant.
func (d *Jobs) TellPage(page func(wish string, browser int) (string, error)) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.page = page
}

// AskPage asks the workroom's page by the function of TellPage; an error where there is no page.
func (d *Jobs) AskPage(wish string, browser int) (string, error) {
	d.mu.Lock()
	page := d.page
	d.mu.Unlock()
	if page == nil {
		return "", refuse("", "this daemon shows no page: see `page` in the workroom file, and what its log says of the address")
	}
	return page(wish, browser)
}

// Dropped notes who puts a draft into a device's folder of the inbox, for the history of its job; "" takes that back. It is
// kept in memory: where the program ends before the draft is taken, nobody says who dropped it.
func (d *Jobs) Dropped(device, file, who string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.dropped == nil {
		d.dropped = map[[2]string]string{}
	}
	d.dropped[[2]string{device, file}] = who
	if who == "" {
		delete(d.dropped, [2]string{device, file})
	}
}
