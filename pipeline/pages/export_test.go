package pages

// Listeners is how many streams the pages hold open.
func Listeners(p *Pages) int { return p.server.Events.Listeners() }
