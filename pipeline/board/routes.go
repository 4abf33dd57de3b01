package board

import "tracewheel/pipeline/web"

// routes registers the pages.
func (b *Board) routes(s *web.Server) {
	s.Search(web.Search{Path: "/past", Name: "word", Label: "Find a job"})
	s.Link("/", "Jobs")
	s.Link("/drop", "Drop drafts")
	s.Link("/past", "Past jobs")
	s.Link("/settings", "Settings")
	s.Handle("GET /{$}", b.live(b.list))
	s.Handle("GET /job/{id}", b.live(b.withJob(b.job)))
	s.Handle("GET /job/{id}/picture", b.withJob(b.pics.Picture))
	s.Handle("GET /job/{id}/over", b.withJob(b.pics.Over))
	s.Handle("GET /job/{id}/file/{name}", b.withJob(b.file))
	s.Handle("GET /job/{id}/lay", b.live(b.withJob(b.layPage)))
	s.Handle("GET /job/{id}/lay/picture", b.withJob(b.layPicture))
	s.Handle("POST /job/{id}/better", b.withJob(b.better))
	s.Handle("POST /job/{id}/{verb}", b.withJob(b.act))
	s.Handle("GET /past", b.live(b.past))
	s.Handle("GET /production", b.live(b.production))
	s.Handle("POST /job/{id}/tick", b.withJob(b.tick))
	s.Handle("GET /settings", b.settings)
	s.Handle("GET /drop", b.live(b.dropPage))
	s.HandleUpTo(uploadLimit, "POST /drop", b.drop)
	s.Handle("GET /device/{name}", b.live(b.withDevice(b.device)))
	s.Handle("GET /device/{name}/calibration/{no}/picture", b.withDevice(b.squarePicture))
	s.Handle("POST /device/{name}/changed", b.withDevice(b.changedTool))
	s.Handle("POST /device/{name}/stock", b.withDevice(b.toStock))
	s.Handle("POST /device/{name}/plot", b.withDevice(b.plotSquare))
	s.Handle("POST /device/{name}/judge", b.withDevice(b.judgeSquare))
	s.Handle("POST /device/{name}/square", b.withDevice(b.recordSquare))
}
