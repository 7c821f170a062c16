package guard

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"math/big"
	"net"
	"net/netip"
	"os"
	"strings"
	"time"
)

// Certificate reads the bench's own certificate and key from one PEM file, or
// makes them there. It is signed by nobody else: a browser warns once, and what
// the warning cannot tell is whether another machine answers in this one's
// place, so the fingerprint is printed for comparison. What it gives in return:
// nobody on the network reads along, and a phone counts the page as a secure
// context, so that the screen can be kept awake.
func Certificate(path string, names []string, now time.Time) (tls.Certificate, string, error) {
	data, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		if data, err = makeCertificate(names, now); err != nil {
			return tls.Certificate{}, "", fmt.Errorf("make a certificate: %w", err)
		}
		err = writeNew(path, data)
	}
	if err != nil {
		return tls.Certificate{}, "", fmt.Errorf("the bench's certificate: %w", err)
	}
	c, err := tls.X509KeyPair(data, data)
	if err != nil {
		return tls.Certificate{}, "", fmt.Errorf("the bench's certificate %s: %w", path, err)
	}
	return c, fingerprint(c.Certificate[0]), nil
}

// writeNew writes a file that only its owner can read; nothing may stand there, no
// link either.
func writeNew(path string, data []byte) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	return errors.Join(err, f.Close())
}

// certificateLife is short enough for phones, some of which refuse more than
// 825 days (from memory).
const certificateLife = 800 * 24 * time.Hour

func makeCertificate(names []string, now time.Time) ([]byte, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, err
	}
	serial, err := rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 120))
	if err != nil {
		return nil, err
	}
	t := &x509.Certificate{
		SerialNumber: serial,
		Subject:      pkix.Name{CommonName: "Knownwater bench"},
		NotBefore:    now.Add(-time.Hour),
		NotAfter:     now.Add(certificateLife),
		KeyUsage:     x509.KeyUsageDigitalSignature,
		ExtKeyUsage:  []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
	}
	for _, n := range names {
		if a, err := netip.ParseAddr(n); err == nil {
			t.IPAddresses = append(t.IPAddresses, net.IP(a.AsSlice()))
		} else {
			t.DNSNames = append(t.DNSNames, n)
		}
	}
	der, err := x509.CreateCertificate(rand.Reader, t, t, &key.PublicKey, key)
	if err != nil {
		return nil, err
	}
	k, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return nil, err
	}
	out := pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der})
	return append(out, pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: k})...), nil
}

func fingerprint(der []byte) string {
	sum := sha256.Sum256(der)
	var parts []string
	for _, b := range sum[:8] {
		parts = append(parts, fmt.Sprintf("%02X", b))
	}
	return strings.Join(parts, " ")
}
