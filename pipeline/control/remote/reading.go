package remote

import (
	"context"
	"time"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/places"
)

// reading is what the socket reads for those who may speak to the daemon and not open its ledger.
type reading struct {
	Filter *ledger.Filter `json:"filter,omitempty"`
	// Device, Kind, Text and Since ask whether an event happened.
	Device string    `json:"device,omitempty"`
	Kind   string    `json:"kind,omitempty"`
	Text   string    `json:"text,omitempty"`
	Since  time.Time `json:"since,omitzero"`
	// Material, Of and Most ask for the history of a roll or a remnant.
	Material string `json:"material,omitempty"`
	Of       int64  `json:"of,omitempty"`
	Most     int    `json:"most,omitempty"`
}

// wireJob is a job with all its fields, where Job's own JSON is made for people's programs.
type wireJob ledger.Job

type read struct {
	Jobs []wireJob `json:"jobs,omitempty"`
	// More tells that a page is full: the next one begins behind its last job.
	More     bool             `json:"more,omitempty"`
	Fault    string           `json:"fault,omitempty"`
	Events   []wireEvent      `json:"events,omitempty"`
	Happened bool             `json:"happened,omitempty"`
	Untaken  []ledger.Untaken `json:"untaken,omitempty"`
	Pieces   []places.Piece   `json:"pieces,omitempty"`
	Tool     ledger.Tool      `json:"tool,omitzero"`
	Stock    []ledger.Stock   `json:"stock,omitempty"`

	History []ledger.StockEvent `json:"history,omitempty"`
}

type wireEvent ledger.Event

// page is how many jobs one answer holds at most: an answer is one line, and is held in memory whole at
// both ends.
const page = 500

const (
	doJobs     = "jobs"
	doJob      = "job"
	doEvents   = "events"
	doHappened = "happened"
	doUntaken  = "untaken"
	doPieces   = "pieces"
	doTool     = "tool"
	doStock    = "stock"
	doHistory  = "stock history"
)

// read answers what only reads; known is false for another request.
func (s *Server) read(ctx context.Context, req request) (r *read, known bool, err error) {
	r = &read{}
	switch req.Do {
	case doJobs:
		f := ledger.Filter{}
		if req.Filter != nil {
			f = *req.Filter
		}
		// Rows that cannot be read come too, so that a full page is seen to be full.
		f.Faulty = true
		if f.Limit <= 0 || f.Limit > page {
			f.Limit = page
		}
		jobs, err := s.jobs.Jobs(ctx, f)
		r.More = len(jobs) == f.Limit
		for _, j := range jobs {
			r.Jobs = append(r.Jobs, wireJob(j))
		}
		if err != nil {
			r.Fault = err.Error() // what could be read is answered too
		}
	case doJob:
		j, err := s.jobs.Job(ctx, req.Job)
		if err != nil {
			return nil, true, err
		}
		r.Jobs = []wireJob{wireJob(j)}
	case doEvents:
		events, err := s.jobs.Events(ctx, req.Job)
		if err != nil {
			return nil, true, err
		}
		for _, e := range events {
			r.Events = append(r.Events, wireEvent(e))
		}
	case doHappened:
		r.Happened, err = s.jobs.Happened(ctx, req.Device, req.Kind, req.Text, req.Since)
	case doPieces:
		r.Pieces, err = s.jobs.Pieces(ctx, req.Job)
	case doTool:
		r.Tool, err = s.jobs.Tool(ctx, req.Device)
	case doStock:
		r.Stock, err = s.jobs.Stock(ctx)
	case doHistory:
		r.History, err = s.jobs.StockHistory(ctx, req.Material, req.Of, req.Most)
	case doUntaken:
		r.Untaken = s.jobs.Untaken()
	default:
		return nil, false, nil
	}
	return r, true, err
}
