package web

import (
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"os"
	"slices"
	"strings"
	"sync"
	"time"

	"go.uber.org/zap"
)

// certificate is the certificate and key by which a server speaks TLS. Its files are looked at when a browser connects, so
// that a renewed one is used without a restart; one that cannot be used is logged, and the one before is kept.
type certificate struct {
	cert, key string
	log       *zap.Logger
	now       func() time.Time

	mu   sync.Mutex
	pair *tls.Certificate
	// tried is the stamp of the files when they were last read.
	tried string
}

func openCertificate(cert, key string, log *zap.Logger, now func() time.Time) (*certificate, error) {
	c := &certificate{cert: cert, key: key, log: log, now: now, tried: stamp(cert, key)}
	var err error
	if c.pair, err = c.load(); err != nil {
		return nil, fmt.Errorf("reading the page's certificate: %w", err)
	}
	return c, nil
}

// load reads certificate and key. An expired certificate is taken nevertheless: browsers and the log say that it is
// expired.
func (c *certificate) load() (*tls.Certificate, error) {
	pair, err := tls.LoadX509KeyPair(c.cert, c.key)
	if err != nil {
		return nil, err
	}
	if pair.Leaf == nil {
		if pair.Leaf, err = x509.ParseCertificate(pair.Certificate[0]); err != nil {
			return nil, err
		}
	}
	if end := pair.Leaf.NotAfter; c.now().After(end) {
		c.log.Warn("the page's certificate is over, and browsers will say so; renew it", zap.String("file", c.cert), zap.Time("ended", end))
	}
	return &pair, nil
}

// stamp is a text that changes when one of the files is written or replaced.
func stamp(files ...string) string {
	var all []string
	for _, f := range files {
		if info, err := os.Stat(f); err != nil {
			all = append(all, err.Error())
		} else {
			all = append(all, fmt.Sprint(info.ModTime().UnixNano(), info.Size()))
		}
	}
	return strings.Join(all, " ")
}

// get gives the certificate in force.
func (c *certificate) get() *tls.Certificate {
	c.mu.Lock()
	defer c.mu.Unlock()
	at := stamp(c.cert, c.key)
	if at == c.tried {
		return c.pair
	}
	c.tried = at
	pair, err := c.load()
	if err != nil {
		c.log.Warn("the page's new certificate cannot be taken, so the one before is kept; put a certificate and the key that belongs to it there",
			zap.String("cert", c.cert), zap.String("key", c.key), zap.Error(err))
		return c.pair
	}
	c.pair = pair
	c.log.Info("the page's certificate was renewed", zap.Time("until", pair.Leaf.NotAfter))
	return c.pair
}

// names are those that the certificate is for, without patterns of names.
func (c *certificate) names() []string {
	return slices.DeleteFunc(slices.Clone(c.get().Leaf.DNSNames), func(n string) bool { return strings.Contains(n, "*") })
}
