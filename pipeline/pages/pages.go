// Package pages puts the workroom's pages together: the server of pipeline/web with its guests, beside a
// running daemon.
package pages

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"path/filepath"
	"sync"

	"go.uber.org/zap"

	"tracewheel/pipeline"
	"tracewheel/pipeline/board"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/desk"
	"tracewheel/pipeline/web"
)

// Pages are shown until Stop.
type Pages struct {
	server *web.Server
	cancel context.CancelFunc
	watch  sync.WaitGroup
	next   string // what an entrance leads to, "" for the first page
}

// Start shows the pages beside a running daemon. Machines and the inbox do not depend on them: where they
// cannot be shown, the log says why, nil comes back, and all else goes on.
func Start(ctx context.Context, shop *pipeline.Workshop, log *zap.Logger) *Pages {
	room := shop.Room()
	if room.Page.Address == "none" {
		return nil
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
		return nil
	}
	shown, err := board.New(server, board.Options{Jobs: shop.Jobs(), Room: shop.Room, Log: log})
	if err != nil {
		log.Error("the workroom's page is not shown", zap.Error(errors.Join(err, server.Stop(ctx))))
		return nil
	}
	if _, err := desk.New(server, desk.Options{Drafts: room.Path("drafts"), Cards: room.Path("cards"), Room: shop.Room, Jobs: shop.Jobs(),
		Busy: func() bool { return len(shop.Jobs().Now()) > 0 }}); err != nil {
		log.Error("the drafting page is not shown", zap.Error(err))
	}
	shop.Jobs().TellPage(func(wish string, browser int) (string, error) {
		switch wish {
		case control.PagePair:
			return server.Door.NewCode(true), nil
		case control.PagePaired:
			return server.Door.PairedText(), nil
		case control.PageUnpair:
			return fmt.Sprintf("browser %d releases no cutters any more", browser), server.Door.Unpair(browser)
		}
		return server.Entrance(), nil
	})
	server.Start()
	if advice := server.Advice(); advice != "" {
		log.Info(advice, zap.String("address", server.Address()))
	}
	p := &Pages{server: server}
	ctx, p.cancel = context.WithCancel(context.WithoutCancel(ctx))
	p.watch.Go(func() { shown.Watch(ctx) })
	return p
}

// Entrance is the address by which one browser comes in within five minutes, "" where no page is shown.
func (p *Pages) Entrance() string {
	if p == nil {
		return ""
	}
	return p.server.Entrance() + p.next
}

// Scanned draws an address as a QR code for a terminal, for a phone at hand; "" where it leads to this machine
// alone, or is none.
func Scanned(address string) string {
	at, err := url.Parse(address)
	if err != nil || at.Host == "" || web.Loopback(at.Hostname()) {
		return ""
	}
	_, rows, err := web.QR(address)
	if err != nil {
		return "" // too long for one: the address itself is told
	}
	return rows
}

// Stop ends the pages within the context's limit.
func (p *Pages) Stop(ctx context.Context) error {
	if p == nil {
		return nil
	}
	p.cancel()
	p.watch.Wait()
	return p.server.Stop(ctx)
}
