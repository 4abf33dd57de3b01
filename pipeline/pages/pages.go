// Package pages puts the workroom's pages together: the server of pipeline/web with its guests, beside a
// running daemon.
package pages

import (
	"context"
	"errors"
	"path/filepath"
	"sync"

	"go.uber.org/zap"

	"tracewheel/pipeline"
	"tracewheel/pipeline/board"
	"tracewheel/pipeline/web"
)

// Start shows the pages beside a running daemon, and gives what ends them. Machines and the inbox
// do not depend on it: where it cannot be shown, the log says why and all else goes on.
func Start(ctx context.Context, shop *pipeline.Workshop, log *zap.Logger) (end func(context.Context) error) {
	none := func(context.Context) error { return nil }
	room := shop.Room()
	if room.Page.Address == "none" {
		return none
	}
	log = log.With(zap.String("stage", "page"))
	o := web.Options{Address: room.Page.Address, PlainHTTP: room.Page.PlainHTTP, Hosts: room.Page.Hosts,
		Sessions: filepath.Join(room.Path(room.Folders.Store), "browsers.json"),
		Title:    func() string { return shop.Room().Name }, Log: log}
	if room.Page.Cert != "" {
		o.Cert, o.Key = room.Path(room.Page.Cert), room.Path(room.Page.Key)
	}
	server, err := web.New(o)
	if err != nil {
		log.Warn("the workroom's page is not shown", zap.Error(err))
		return none
	}
	shown, err := board.New(server, board.Options{Jobs: shop.Jobs(), Room: shop.Room, Log: log})
	if err != nil {
		log.Error("the workroom's page is not shown", zap.Error(errors.Join(err, server.Stop(ctx))))
		return none
	}
	shop.Jobs().TellPage(func(pair bool) string {
		if pair {
			return server.Door.NewCode(true)
		}
		return server.Entrance()
	})
	server.Start()
	ctx, cancel := context.WithCancel(ctx)
	var wait sync.WaitGroup
	wait.Go(func() { shown.Watch(ctx) })
	log.Info("the workroom's page: " + server.Entrance() + " lets one browser in for five minutes; tracewheel page gives another address")
	return func(limit context.Context) error {
		cancel()
		wait.Wait()
		return server.Stop(limit)
	}
}
