package report

import (
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"math/big"
	"regexp"
	"strings"
)

// signatureID is the id of the line that carries a signature.
const signatureID = "knownwater-signature"

var (
	signatureLine  = regexp.MustCompile(`<script type="application/json" id="` + signatureID + `">"([A-Za-z0-9+/=]*)"</script>\n`)
	endOfBody      = []byte("</body>")
	signedAsReport = []byte("knownwater report 1\n") // so that nothing else signed with the key can pose as one
)

// PublicKey is a bench's public key as a page carries it.
func PublicKey(key ed25519.PrivateKey) string {
	return base64.StdEncoding.EncodeToString(key.Public().(ed25519.PublicKey))
}

// Signed is the page with the signature (Ed25519, RFC 8032) of the bench that it
// names as its signer. Signed is all of the page but the line of the signature.
func Signed(page []byte, key ed25519.PrivateKey) []byte {
	signature := ed25519.Sign(key, append(bytes.Clone(signedAsReport), page...))
	line := fmt.Sprintf("<script type=\"application/json\" id=\"%s\">\"%s\"</script>\n", signatureID, base64.StdEncoding.EncodeToString(signature))
	at := max(0, bytes.LastIndex(page, endOfBody))
	return bytes.Join([][]byte{page[:at], []byte(line), page[at:]}, nil)
}

// unsigned takes the line of the signature out of a page; nil where there is none.
func unsigned(page []byte) (rest, signature []byte, err error) {
	if !bytes.Contains(page, []byte(signatureID)) {
		return page, nil, nil
	}
	m := signatureLine.FindSubmatchIndex(page)
	if m == nil || bytes.Count(page, []byte(signatureID)) != 1 {
		return nil, nil, fault("the signature in the page cannot be read", "the page as it was signed")
	}
	rest = append(bytes.Clone(page[:m[0]]), page[m[1]:]...)
	if m[0] != bytes.LastIndex(rest, endOfBody) {
		return nil, nil, fault("the signature stands in another place", "the page as it was signed")
	}
	signature, err = base64.StdEncoding.DecodeString(string(page[m[2]:m[3]]))
	if err != nil {
		return nil, nil, fault("the signature in the page cannot be read", "the page as it was signed")
	}
	return rest, signature, nil
}

// SignedBy is the fingerprint of the bench that signed the page; empty where none
// did. A signature that is missing, or is not of this page, is a Fault.
func (d Document) SignedBy() (fingerprint string, err error) {
	if d.Inputs.Signer == "" && d.signature == nil {
		return "", nil
	}
	public, err := base64.StdEncoding.DecodeString(d.Inputs.Signer)
	if err != nil || len(public) != ed25519.PublicKeySize {
		return "", fault("the page carries a signature but names no bench that signed it", "the page as it was signed, or without a signature")
	}
	print := Fingerprint(d.Inputs.Signer)
	if d.signature == nil {
		return "", fault("the page says that the bench %s signed it, and carries no signature", "the page as it was signed", print)
	}
	if !ed25519.Verify(public, append(bytes.Clone(signedAsReport), d.page...), d.signature) {
		return "", fault("the signature is not by the bench %s for this page: it is forged, or the page was changed since", "the page as it was signed", print)
	}
	return print, nil
}

// Fingerprint is a bench's public key in short, fit for reading aloud: 24 decimal
// digits of its SHA-256, in groups of four. To find another key with the same ones
// takes about 10^24 tries.
func Fingerprint(public string) string {
	sum := sha256.Sum256([]byte(public))
	n := new(big.Int).SetBytes(sum[:])
	digits := fmt.Sprintf("%024s", n.Mod(n, new(big.Int).Exp(big.NewInt(10), big.NewInt(24), nil)))
	var groups []string
	for i := 0; i < len(digits); i += 4 {
		groups = append(groups, digits[i:i+4])
	}
	return strings.Join(groups, "-")
}
