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

// TellPage sets the function that gives the address of the workroom's page with a code in it or, where pair is true, a
// code that pairs a device.
func (d *Jobs) TellPage(page func(pair bool) string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.page = page
}

// PageAddress gives the address of the workroom's page as the function of TellPage does; an error where there is no
// page.
func (d *Jobs) PageAddress(pair bool) (string, error) {
	d.mu.Lock()
	page := d.page
	d.mu.Unlock()
	if page == nil {
		return "", refuse("", "this daemon shows no page: see `page` in the workroom file, and what its log says of the address")
	}
	return page(pair), nil
}
