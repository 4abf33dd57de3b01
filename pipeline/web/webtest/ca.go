// Package webtest makes certificates for tests of pages over TLS: an authority of its own, that nobody else trusts.
package webtest

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/base64"
	"encoding/pem"
	"math/big"
	"net"
	"os"
	"testing"
	"time"
)

// CA is an authority that signs for a few hours.
type CA struct {
	t    testing.TB
	key  *ecdsa.PrivateKey
	cert *x509.Certificate
	last int64
}

// NewCA makes one.
func NewCA(t testing.TB) *CA {
	t.Helper()
	c := &CA{t: t, last: 1}
	about := c.about()
	about.IsCA, about.BasicConstraintsValid, about.KeyUsage = true, true, x509.KeyUsageCertSign
	c.cert, c.key, _ = c.sign(about, about, nil)
	return c
}

func (c *CA) about() *x509.Certificate {
	return &x509.Certificate{SerialNumber: big.NewInt(c.last), Subject: pkix.Name{CommonName: "wardrobe room test"},
		NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(6 * time.Hour)}
}

func (c *CA) sign(about, by *x509.Certificate, with *ecdsa.PrivateKey) (*x509.Certificate, *ecdsa.PrivateKey, []byte) {
	c.t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if with == nil {
		with = key
	}
	var der []byte
	if err == nil {
		der, err = x509.CreateCertificate(rand.Reader, about, by, &key.PublicKey, with)
	}
	var cert *x509.Certificate
	if err == nil {
		cert, err = x509.ParseCertificate(der)
	}
	if err != nil {
		c.t.Fatal(err)
	}
	return cert, key, der
}

// Issue writes a certificate for some names and addresses and its key into two files, and gives it. An
// empty name of a file leaves that one out.
func (c *CA) Issue(certFile, keyFile string, names ...string) *x509.Certificate {
	c.t.Helper()
	c.last++
	about := c.about()
	about.ExtKeyUsage = []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}
	for _, n := range names {
		if ip := net.ParseIP(n); ip != nil {
			about.IPAddresses = append(about.IPAddresses, ip)
		} else {
			about.DNSNames = append(about.DNSNames, n)
		}
	}
	cert, key, der := c.sign(about, c.cert, c.key)
	text, err := x509.MarshalPKCS8PrivateKey(key)
	if err == nil && certFile != "" {
		err = os.WriteFile(certFile, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}), 0o600)
	}
	if err == nil && keyFile != "" {
		err = os.WriteFile(keyFile, pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: text}), 0o600)
	}
	if err != nil {
		c.t.Fatal(err)
	}
	return cert
}

// Pool trusts this authority alone.
func (c *CA) Pool() *x509.CertPool {
	p := x509.NewCertPool()
	p.AddCert(c.cert)
	return p
}

// KeySum is the sum of a certificate's key by which a browser can be told to trust it (RFC 7469, 2.4).
func KeySum(cert *x509.Certificate) string {
	sum := sha256.Sum256(cert.RawSubjectPublicKeyInfo)
	return base64.StdEncoding.EncodeToString(sum[:])
}
