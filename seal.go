package knownwater

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"math"
	"strings"
)

// Seal proves that a key which is open now is the one that was shut: when a trial
// is sealed, Commitment is written down and shown to everybody, while the key and
// the salt stay shut. The salt is random, so that the commitment tells nothing of
// the key; that another key has the same commitment would need a collision of
// SHA-256.
type Seal struct {
	Commitment string `json:"commitment"`  // SHA-256 in hexadecimal digits
	Salt       string `json:"salt"`        // 32 random bytes, likewise
	Plan       string `json:"plan_sha256"` // of the plan as it was sealed
	Key        string `json:"key"`         // a list of KeyRow as JSON, byte for byte as it was committed to
}

// KeyRow is one line of a key: which vial holds what.
type KeyRow struct {
	Order     int     `json:"order"`
	Code      string  `json:"code"`
	Session   int     `json:"session"`
	Method    string  `json:"method"`
	Version   int     `json:"version"`
	Known     string  `json:"known"`
	Level     float64 `json:"level"`
	Role      string  `json:"role"`
	Technique string  `json:"technique"`
	Dilution  float64 `json:"dilution"`
	Nitrite   float64 `json:"nitrite,omitempty"` // mg/L NO2 beside
}

// Commit is the commitment to a key: SHA-256 over four lines that say what is
// committed to, the salt, the SHA-256 of the plan, and the key.
func Commit(salt, plan, key string) string {
	h := sha256.Sum256([]byte("knownwater seal 1\n" + salt + "\n" + plan + "\n" + key + "\n"))
	return hex.EncodeToString(h[:])
}

// Grouped is a commitment as it is printed, to be compared by eye.
func Grouped(commitment string) string {
	var groups []string
	for len(commitment) > 8 {
		groups, commitment = append(groups, commitment[:8]), commitment[8:]
	}
	return strings.Join(append(groups, commitment), " ")
}

// Verify holds the seal against itself and the readings of a trial against its key:
// each reading has to be of a vial of the key, by its method, at its level and with its nitrite.
// What does not hold is a fault.
func (s Seal) Verify(t Trial) Faults {
	if len(s.Salt) < 32 || Commit(s.Salt, s.Plan, s.Key) != s.Commitment {
		return Faults{{Found: "the key is not the one that was sealed", Want: "a key and a salt that give the commitment " + Grouped(s.Commitment)}}
	}
	var rows []KeyRow
	if err := json.Unmarshal([]byte(s.Key), &rows); err != nil {
		return Faults{{Found: "the sealed key cannot be read", Want: "a list of vials"}}
	}
	key := map[string]KeyRow{}
	for _, r := range rows {
		key[r.Code] = r
	}
	var fs Faults
	said := map[string]bool{}
	for o := range t.Every() {
		r, ok := key[o.Vial]
		var found, want string
		switch {
		case !ok:
			found, want = "a reading of vial “"+o.Vial+"”, which the sealed key does not hold", "a vial of the key"
		case o.Method != r.Method:
			found, want = "a reading of vial "+o.Vial+" by “"+o.Method+"”", "“"+r.Method+"”, as the sealed key says"
		case math.Abs(o.Level-r.Level) > 1e-9*math.Abs(r.Level):
			found, want = fmt.Sprintf("a reading of vial %s at level %g", o.Vial, o.Level), fmt.Sprintf("%g, as the sealed key says", r.Level)
		case math.Abs(o.Nitrite-r.Nitrite) > 1e-9*r.Nitrite:
			found, want = fmt.Sprintf("a reading of vial %s with nitrite %g", o.Vial, o.Nitrite), fmt.Sprintf("%g, as the sealed key says", r.Nitrite)
		default:
			continue
		}
		if !said[found] {
			said[found] = true
			fs = append(fs, Fault{Row: o.Row, Found: found, Want: want})
		}
	}
	return fs
}
