package exchange

import (
	"crypto/ed25519"
	"crypto/rand"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"

	"knownwater"
)

// SigningKeyFile is where the key stands that a bench signs what it publishes
// with: beside the bench, in no backup and no export of it.
func SigningKeyFile(bench string) string {
	return strings.TrimSuffix(bench, filepath.Ext(bench)) + "-signing-key.pem"
}

// SigningKey reads the bench's key for signing (Ed25519, as PKCS #8 in PEM, readable
// by its owner only), or makes it.
func SigningKey(bench string) (ed25519.PrivateKey, error) {
	path := SigningKeyFile(bench)
	data, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return makeSigningKey(path)
	}
	if err != nil {
		return nil, fmt.Errorf("the key for signing: %w", err)
	}
	if info, err := os.Stat(path); err == nil && runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0 {
		return nil, knownwater.Fault{File: path, Found: "others can read the key that this bench signs with", Want: "a file that its owner alone can read (mode 600)"}
	}
	bad := knownwater.Fault{File: path, Found: "no key for signing that can be read", Want: "the key as it was made, or no file: then a new key is made"}
	block, _ := pem.Decode(data)
	if block == nil {
		return nil, bad
	}
	key, err := x509.ParsePKCS8PrivateKey(block.Bytes)
	private, ok := key.(ed25519.PrivateKey)
	if err != nil || !ok {
		return nil, bad
	}
	return private, nil
}

func makeSigningKey(path string) (ed25519.PrivateKey, error) {
	_, private, err := ed25519.GenerateKey(rand.Reader)
	if err != nil {
		return nil, fmt.Errorf("make a key for signing: %w", err)
	}
	der, err := x509.MarshalPKCS8PrivateKey(private)
	if err != nil {
		return nil, fmt.Errorf("make a key for signing: %w", err)
	}
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return nil, knownwater.Refuse(knownwater.ReadOnly, "the key for signing cannot be written beside the bench: %v", err)
	}
	if err := errors.Join(pem.Encode(f, &pem.Block{Type: "PRIVATE KEY", Bytes: der}), f.Sync(), f.Close()); err != nil {
		os.Remove(path)
		return nil, fmt.Errorf("write the key for signing: %w", err)
	}
	return private, nil
}
