package posterior

import (
	"crypto/sha256"
	"fmt"
)

// Digest names all that a fit depends on: what is alike to the last bit, in the same order, has one. Numbers are
// written so that they read back as they are.
func (d Data) Digest() [sha256.Size]byte {
	h := sha256.New()
	fmt.Fprintf(h, "%#v", d)
	return [sha256.Size]byte(h.Sum(nil))
}
