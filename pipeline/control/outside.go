package control

import "tracewheel/pipeline/ledger"

// Untaken lists what lies in the inbox and becomes no job; nil where nobody can tell.
func (d *Jobs) Untaken() []ledger.Untaken {
	d.mu.Lock()
	untaken := d.untaken
	d.mu.Unlock()
	if untaken == nil {
		return nil
	}
	return untaken()
}

// TellInbox takes what lists the files in the inbox that become no job.
func (d *Jobs) TellInbox(untaken func() []ledger.Untaken) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.untaken = untaken
}

// TellPage takes what gives the address of the workroom's page with a code in it, or a code that pairs.
func (d *Jobs) TellPage(page func(pair bool) string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.page = page
}

// PageAddress asks for it.
func (d *Jobs) PageAddress(pair bool) (string, error) {
	d.mu.Lock()
	page := d.page
	d.mu.Unlock()
	if page == nil {
		return "", refuse("", "this daemon shows no page: see `page` in the workroom file, and what its log says of the address")
	}
	return page(pair), nil
}
